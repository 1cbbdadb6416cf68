"""What a finding says to somebody who never heard of a tolerance, in a sentence or two."""

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from app.metrology.rounding import rounded
from app.wording.enumeration import listed
from app.wording.numbers import places, size, spread
from app.wording.translation import _, counted, later

PARTS: dict[str, str] = {
    "head": later("the steering head"),
    "datum": later("the swing-arm pivot"),
    "frame": later("the tail and the mounting points"),
    "arm": later("the swing arm"),
    "fork": later("the fork"),
    "wheels": later("the line of the wheels"),
}
"""By the code of a section, as one would say it to the owner."""


class Parts(NamedTuple):
    """The sections of what was measured and has a limit, each by its worst finding."""

    outside: tuple[str, ...] = ()
    undecided: tuple[str, ...] = ()
    within: tuple[str, ...] = ()


def parts_of(found: Sequence[tuple[str, str]]) -> Parts:
    """Sort sections by their worst finding; `found`: section and verdict of each characteristic."""
    sections = dict.fromkeys(section for section, _verdict in found)
    worst = {one: worst_of([v for section, v in found if section == one]) for one in sections}
    sorted_by = {
        verdict: tuple(one for one in sections if worst[one] == verdict)
        for verdict in Parts._fields
    }
    return Parts(**sorted_by)


def worst_of(verdicts: Sequence[str]) -> str:
    """The one that a customer must hear of first; `no_tolerance` where nothing has a limit."""
    return next((one for one in Parts._fields if one in verdicts), "no_tolerance")


Ways = Mapping[str, Sequence[str]]
"""By section, which way and how much it is off."""


def finding(
    verdict: str, parts: Parts, *, moved: bool, missing: bool, ways: Ways | None = None
) -> str:
    """Return what was found; `verdict` is the overall finding, `missing` that something required
    was not measured, `ways` how the parts outside are off."""
    if moved:
        return _(
            "This measurement decides nothing: something moved while it was made. It has to be "
            "made again."
        )
    opening = opening_of(verdict, parts, missing=missing, ways=ways or {})
    return " ".join([opening, *the_rest(verdict, parts)])


def opening_of(verdict: str, parts: Parts, *, missing: bool, ways: Ways) -> str:
    """The sentence that answers the question."""
    if verdict == "outside":
        return counted(
            "One part is not where it should be: {parts}.",
            "{count} parts are not where they should be: {parts}.",
            len(parts.outside),
        ).format(count=len(parts.outside), parts=joined(parts.outside, ways))
    if verdict == "within":
        return _("All that had to be measured is where it should be: {parts}.").format(
            parts=joined(parts.within)
        )
    if missing:
        return _("It cannot be said yet: not everything that is needed was measured.")
    if parts.undecided:
        return _("It cannot be said yet: the measurement is not sure enough about {parts}.").format(
            parts=joined(parts.undecided)
        )
    if not parts.within:
        return _("Nothing can be said: the reference gives no limits for what was measured.")
    return _("It cannot be said yet: each part alone seems right, all at once are not sure enough.")


def the_rest(verdict: str, parts: Parts) -> list[str]:
    """What the opening leaves out."""
    told = []
    if parts.undecided and verdict != "undecided":
        told.append(_("Not sure enough to say: {parts}.").format(parts=joined(parts.undecided)))
    if parts.within and verdict != "within":
        told.append(_("Where it should be: {parts}.").format(parts=joined(parts.within)))
    return told


MOST_SEEN = 4


def seen_besides(verdict: str, seen: Sequence[str]) -> str:
    """Return what the visual check saw and no measurement tells, beside the finding; empty where
    nothing was seen. `seen`: items in words."""
    if not seen:
        return ""
    items = listed(seen, MOST_SEEN)
    if verdict == "within":
        return _("But at the visual check was seen: {items}.").format(items=items)
    return _("At the visual check was seen: {items}.").format(items=items)


def joined(sections: Sequence[str], ways: Ways | None = None) -> str:
    """Return the parts in one line, each with how it is off where that is known."""
    names = [with_ways(_(PARTS[section]), (ways or {}).get(section, ())) for section in sections]
    if len(names) < 2:
        return "".join(names)
    return _("{names} and {last}").format(names=", ".join(names[:-1]), last=names[-1])


def with_ways(name: str, ways: Sequence[str]) -> str:
    """Return a part with how it is off: `the steering head (11 mm too far back)`."""
    return f"{name} ({', '.join(ways)})" if ways else name


def plus_minus(expanded: float, unit: str) -> str:
    """Return what ± means, with an expanded uncertainty (95 %) of this finding as the example."""
    decimals = places(expanded)
    return _(
        "{spread} after a number means: the true value lies at most {size} above or below it, "
        "with a chance of about 95 in 100."
    ).format(spread=spread(expanded, unit, decimals), size=size(expanded, unit, decimals))


def worth_showing(expanded: float) -> bool:
    """Whether an expanded uncertainty is more than a string of zeros when it is shown."""
    return float(rounded(expanded, places(expanded) if expanded else 0)) > 0.0
