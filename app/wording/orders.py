"""What a customer orders and is told when a machine is left here: the texts that are signed."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from app.wording import jobs
from app.wording.moments import day
from app.wording.translation import _, later

SCOPES: dict[str, str] = {
    "measure": later("measure and report"),
    "correct": later("measure, report, and correct what may be corrected"),
}

BELONGINGS = (
    later("one key"), later("two keys"), later("papers of the machine"), later("top case"),
    later("side cases"), later("tank bag"), later("lock or chain"), later("helmet"),
    later("navigation device"),
)  # fmt: skip
"""What is often left with a machine."""

LONGEST_TOLD = 160
"""Of a text that is told in full where it reads otherwise than what was signed."""
ORDER = later("I order: {ordered}.")
PARTS = later(
    "Parts that stand in the way may be taken off for measuring. What costs more, and any "
    "correction that I did not order, needs my word first."
)

NOTICE = (
    later("{shop} keeps your name and how to reach you, the data of your machine, what you told of "
          "the accident, photos, measurements and your signature, in order to inspect the machine, "
          "to report on it and to answer for that report later."),
    later("The findings go to your insurer where you named one. Nobody else gets them without your "
          "word, unless the law asks for it."),
    later("You may ask at any time what is kept about you, have it put right, and have it erased "
          "as far as the law lets the shop erase it."),
)  # fmt: skip
"""The notice on personal data, unless the shop has written its own."""


def scope(code: str) -> str:
    """Return what is ordered, as it stands on the job card; an unknown code as it is."""
    return _(SCOPES.get(code, code))


def scope_code(ordered: str) -> str:
    """Return the code of what is ordered; empty where it is in words of its own, or not stated."""
    return next((code for code in SCOPES if scope(code) == ordered.strip()), "")


def nothing_corrected(code: str) -> str:
    """Return, for a certificate of a machine on which no correction is noted, what was ordered."""
    return {
        "measure": _("No correction was ordered or noted. What was measured is certified."),
        "correct": _("Corrections were ordered; none was noted. What was measured is certified."),
    }.get(code, _("No correction was noted. What was measured is certified."))


def word_needed(code: str, ordered: str) -> str:
    """Return why the customer's word is needed before a correction; `code` as in the services."""
    said = {
        "not_given": _("Nobody has given the order yet, and no correction is ordered."),
        "unsigned": _(
            "To be ordered is: {ordered}. The customer has not signed for it yet: the desk still "
            "has to get it signed."
        ).format(ordered=ordered.rstrip(".")),
        "not_ordered": _("Ordered is: {ordered}. No correction is ordered.").format(
            ordered=ordered.rstrip(".")
        ),
        "own_words": _(
            "Ordered in words of its own is: {ordered}. Whether that takes in this correction, the "
            "program cannot read."
        ).format(ordered=ordered.rstrip(".")),
        "not_signed": _("What is ordered was changed since the customer signed for it."),
    }
    return said[code] + " " + _("The customer's word is needed before anything is corrected.")


def agreed(name: str, what: str) -> str:
    """Return the note of a customer's word on a correction that the order does not name."""
    return _("{name} was asked and agreed to this correction: {what}").format(name=name, what=what)


def belongings() -> tuple[str, ...]:
    return tuple(_(one) for one in BELONGINGS)


def notice(shop: str, own: str = "") -> tuple[str, ...]:
    """Return the notice on personal data, a paragraph each: the shop's own where there is one."""
    if own.strip():
        return tuple(line.strip() for line in own.splitlines() if line.strip())
    return tuple(_(paragraph).format(shop=shop) for paragraph in NOTICE)


@dataclass(frozen=True, slots=True)
class Left:
    """A machine as it is left here: what the order is given for."""

    job: str
    make: str
    model: str
    year: int | None
    plate: str
    frame_number: str
    odometer_km: int | None
    rideable: str
    damage: Sequence[str]
    belongings: Sequence[str]
    promised_on: date | None
    customer: str
    insurer: str
    claim: str


def left_here(left: Left) -> tuple[tuple[str, str], ...]:
    """Return what is left here and in which state, each with its label, to be read and signed."""
    return (
        (_("Job"), left.job),
        (_("Customer"), _stated(left.customer)),
        (_("Machine"), jobs.machine(left.make, left.model, left.year)),
        (_("Plate"), _stated(left.plate)),
        (_("Frame number"), _stated(left.frame_number)),
        (_("Odometer, km"), _stated(left.odometer_km)),
        (_("Condition"), jobs.rideable(left.rideable)),
        (_("Visible damage"), _stated("; ".join(left.damage))),
        (_("Left with the machine"), _stated("; ".join(left.belongings))),
        (_("Promised for"), _stated(day(left.promised_on) if left.promised_on else "")),
        (_("Insurer"), _stated(left.insurer)),
        (_("Claim number"), _stated(left.claim)),
    )


def told_later(label: str, before: str) -> bool:
    """Whether a line that said nothing when it was signed may be filled in without signing anew:
    insurer and claim are often not known yet when a machine is left here."""
    return before == _stated("") and label in (_("Insurer"), _("Claim number"))


def _stated(value: str | int | None) -> str:
    return str(value) if value not in (None, "") else _("not stated")


def authorisation(shop: str, machine: str, ordered: str) -> str:
    """Return the sentence with which the customer lets the shop inspect the machine."""
    said = _("I leave the {machine} to {shop} to be inspected.").format(machine=machine, shop=shop)
    order = _(ORDER).format(ordered=ordered.rstrip(".")) if ordered else ""
    return " ".join(filter(None, [said, order, _(PARTS)]))


def ordered_in(authorisation: str) -> str:
    """Return what was ordered, out of such a sentence; empty where it says nothing of it."""
    before, after = _(ORDER).split("{ordered}")
    found = authorisation.removesuffix(_(PARTS)).rstrip().partition(before)[2]
    return found.removesuffix(after)


def changed(label: str, before: str, after: str) -> str:
    """Return what reads otherwise since it was signed; of a long text only that it does."""
    if max(len(before), len(after)) > LONGEST_TOLD:
        return _("{label}: it reads otherwise now").format(label=label)
    return _("{label}: {after} instead of {before}").format(
        label=label, after=after or _("nothing"), before=before
    )
