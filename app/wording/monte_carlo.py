"""What the trials (Monte Carlo) were and what they say of first order, in words."""

from collections.abc import Sequence

from app.wording.enumeration import characteristics
from app.wording.translation import _


def sentence(
    trials: int,
    seed: int,
    stable: bool | None,
    differing: Sequence[str],
    *,
    needed: bool,
    too_few: bool = False,
) -> str:
    """Return how uncertainties were found; `differing`: keys for which first order is not enough.

    `stable`: whether the digits asked for were reached, None where none were asked for. `too_few`:
    some ends are off, and do not stand still enough to tell anything by it.
    """
    parts = [
        _(
            "Uncertainties and probabilities come from {trials:,} simulated measurements (Monte"
            " Carlo, seed {seed})."
        )
    ]
    if needed:
        parts.append(_("The steering axis is known too little for the usual calculation."))
    if stable is False:
        parts.append(_("That was not enough for the digits asked for."))
    if differing:
        parts.append(_("The usual calculation would have given other limits for: {names}."))
    elif too_few:
        parts.append(_("They are too few to hold the usual calculation against them."))
    else:
        parts.append(_("The usual calculation agrees with them."))
    return " ".join(parts).format(trials=trials, seed=seed, names=characteristics(differing))
