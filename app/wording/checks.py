"""What the checks of a survey say: whether the set-up stood still, and the noise of its points."""

from collections.abc import Mapping

from app.wording.numbers import plain, size
from app.wording.translation import _, later

RIG: dict[str, str] = {
    "steady": later("The set-up stood still as far as the repeats show."),
    "moved": later(
        "The set-up moved between the first and the repeated points: no verdict rests on this "
        "survey, and it cannot be certified."
    ),
    "not_checked": later(
        "Whether the set-up stood still was not checked: nothing was measured again at the end."
    ),
}
SCOPES: dict[str, str] = {
    "datum_and_steering": later("Datum and steering were measured again."),
    "steering_only": later("Only the steering was measured again, not the datum."),
    "datum_only": later("Only the datum was measured again."),
    "none": "",
}
NOISE: dict[str, str] = {
    "as_claimed": later("The points scatter no more than their uncertainties say."),
    "noisier": later(
        "The points scatter more than their uncertainties say; all uncertainties were made larger "
        "to match."
    ),
    "not_checked": later("Too few points to tell how much they scatter."),
}
ORIENTATION: dict[str, str] = {
    "checked": later("Left, right and upward agree with what the measurement says of them."),
    "not_checked": later(
        "Left, right and upward were not checked against the survey's axes; a certificate needs "
        "that: say in the survey which way is up."
    ),
}


def rig(verdict: str, scope: str, detectable_slip_mm: float | None) -> str:
    """Return what the repeats show, and what slip they could have seen."""
    parts = [_(RIG[verdict]), _(SCOPES[scope])]
    if detectable_slip_mm is not None:
        slip = _("A slip of {size} would have been caught 9 times in 10.")
        parts.append(slip.format(size=size(detectable_slip_mm, "mm")))
    return " ".join(part for part in parts if part)


def noise(verdict: str) -> str:
    return _(NOISE[verdict])


def orientation(verdict: str) -> str:
    return _(ORIENTATION[verdict])


def decision_rule(threshold: float) -> str:
    """Return the rule by which every verdict was reached, for finding and certificate."""
    return _(
        "Within or outside is said when its probability is at least {threshold}, given the value "
        "and its uncertainty; between the two the finding is undecided."
    ).format(threshold=plain(threshold))


def fork_bend(side: str, bend_mm: float) -> str:
    """Return how far a leg of the fork is bent, by the readings that were entered."""
    text = (
        _("The left fork leg is bent by {bend}")
        if side == "left"
        else _("The right fork leg is bent by {bend}")
    )
    told = text.format(bend=size(bend_mm, "mm"))
    return _("{told}: half the total indicator reading, turned on V-blocks.").format(told=told)


def fork_bends(bend_mm: Mapping[str, float]) -> tuple[str, ...]:
    """Return the same for every leg that was read, left first."""
    return tuple(fork_bend(side, bend_mm[side]) for side in ("left", "right") if side in bend_mm)
