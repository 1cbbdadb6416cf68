"""The finding in words: each verdict, and the sentence that speaks for all of them.

A finding speaks of what is listed and of nothing else; the machine itself is never called good.
"""

from collections.abc import Sequence
from typing import NamedTuple

from app.wording.enumeration import characteristics
from app.wording.numbers import plain, probability
from app.wording.translation import _, counted, later

VERDICTS: dict[str, str] = {
    "within": later("within"),
    "outside": later("outside"),
    "undecided": later("undecided"),
    "no_tolerance": later("no limit"),
}
FINDINGS: dict[str, str] = {
    "within": later("within the tolerances"),
    "outside": later("outside the tolerances"),
    "undecided": later("undecided"),
}
ABOVE_BELOW = {"above": later("above the upper limit"), "below": later("below the lower limit")}

MOST_NAMED = 8
"""A sentence with more names than these is not read; the table has all of them."""

SAYS_NOTHING_OF = later(
    "This says nothing of cracks, hidden damage or anything that is not listed."
)
FIGURES_SAY_NOTHING_OF = later(
    "The figures say nothing of cracks, hidden damage or anything that is not listed; what was "
    "seen stands below."
)
"""In its place where such damage is on record: the one must not read as if it denied the other."""


def verdict(
    code: str,
    side: str | None = None,
    *,
    cannot_decide: bool = False,
    nominal: float | None = None,
) -> str:
    """Return the verdict on one characteristic: `outside, above the upper limit`.

    Where the nominal is 0, what is shown is a size with its direction in words, and "below" a
    limit would read as if it were too small.
    """
    if side in ABOVE_BELOW and nominal == 0.0:
        return _("{verdict}, beyond the limit on that side").format(verdict=_(VERDICTS[code]))
    if code == "undecided" and cannot_decide:
        return _("undecided: this survey cannot decide")
    word = _(VERDICTS[code])
    return f"{word}, {_(ABOVE_BELOW[side])}" if side in ABOVE_BELOW else word


def outside() -> str:
    """Return the verdict on a characteristic that is outside, without the side of the limit."""
    return _("outside, beyond what is allowed")


def outside_sentence(name: str, sense: str) -> str:
    """Return what is outside and which way: `Head twist: 1.10° anticlockwise …`."""
    return _("{name}: {sense}.").format(name=name[:1].upper() + name[1:], sense=sense)


def finding(code: str) -> str:
    """Return the overall finding in few words."""
    return _(FINDINGS[code])


class Tally(NamedTuple):
    """The keys of the characteristics with a limit, by verdict, and what else decides."""

    reference: str
    """What the reference is called, with its revision; empty when it has no name."""
    within: tuple[str, ...] = ()
    outside: tuple[str, ...] = ()
    undecided: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()
    """Required and not measured."""
    probability_all: float | None = None
    threshold: float = 0.95
    moved: bool = False
    not_required: tuple[str, ...] = ()
    """Of all of these, the keys that the finding does not rest on."""


def finding_sentence(code: str, tally: Tally) -> str:
    """Return what the survey found, how sure that is, and what it does not say."""
    return " ".join([*finding_parts(code, tally), _(SAYS_NOTHING_OF)])


def finding_parts(code: str, tally: Tally) -> list[str]:
    """Return the same without its last sentence, one by one; the first is the finding itself."""
    sentences = {"within": _within, "outside": _outside, "undecided": _undecided}[code](tally)
    if tally.missing:
        sentences.append(_("Not measured: {names}.").format(names=named(tally.missing)))
    return sentences


def _within(tally: Tally) -> list[str]:
    required = tuple(key for key in tally.within if key not in tally.not_required)
    if len(required) > MOST_NAMED:
        text = _("All {count} required characteristics are within the tolerances of {reference}.")
    else:
        text = counted(
            "The one required characteristic is within the tolerance of {reference}: {names}.",
            "All {count} required characteristics are within the tolerances of {reference}: "
            "{names}.",
            len(required),
        )
    first = text.format(count=len(required), reference=_called(tally), names=named(required))
    besides = tuple(key for key in tally.within if key in tally.not_required)
    if besides:
        first += " " + _("Within too, and not required: {names}.").format(names=named(besides))
    told = [first]
    if tally.undecided:
        told.append(_("Undecided, and not required: {names}.").format(names=named(tally.undecided)))
    if tally.probability_all is not None:
        told.append(
            _("Probability that all that are required are so at once: {p} (needed: {c}).").format(
                p=probability(tally.probability_all), c=plain(tally.threshold)
            )
        )
    return told


def _outside(tally: Tally) -> list[str]:
    text = counted(
        "Outside the tolerance of {reference}: {names}.",
        "Outside the tolerances of {reference}: {names}.",
        len(tally.outside),
    )
    return [text.format(reference=_called(tally), names=named(tally.outside))]


def _undecided(tally: Tally) -> list[str]:
    if tally.moved:
        return [
            _(
                "Undecided: the set-up moved while it was measured, so that the numbers decide "
                "nothing; measure again."
            )
        ]
    if tally.undecided:
        text = _("Undecided against the tolerances of {reference}: {names}.")
        return [text.format(reference=_called(tally), names=named(tally.undecided))]
    if tally.missing:
        return [_("Undecided: not all that is required was measured.")]
    if tally.probability_all is None:
        return [_("Undecided: nothing is required, so there is nothing to decide.")]
    return [
        _(
            "Undecided: each required characteristic is within its tolerance, but that all are so "
            "at once is not sure enough (probability {p}, needed {c})."
        ).format(p=probability(tally.probability_all), c=plain(tally.threshold))
    ]


def named(keys: Sequence[str]) -> str:
    """Return the names of characteristics in one list, of very many the first ones."""
    return characteristics(keys, MOST_NAMED)


def _called(tally: Tally) -> str:
    if not tally.reference:
        return _("the reference")
    return _("reference {name}").format(name=tally.reference)
