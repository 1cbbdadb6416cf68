"""The rows of a certificate's table, from stored results; numbers as text, nothing computed."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from app.documents.content import CharacteristicLine, HandlingLine, Reading
from app.drawings.tolerance_bar import Bar
from app.schemas.comparing import ChangeOut
from app.schemas.result import CharacteristicOut, ResultOut
from app.wording import bar_ends, changes, handling, labels, numbers, senses, sources, verdicts
from app.wording.sections import sorted_into
from app.wording.translation import _

LEVELLED_BY_THE_HEAD = frozenset({"by_height", "by_angle"})


def characteristic_lines(
    result: ResultOut,
    before: ResultOut | None,
    change: ChangeOut | None,
    *,
    not_makers: frozenset[str] = frozenset(),
    no_source: frozenset[str] = frozenset(),
) -> tuple[CharacteristicLine, ...]:
    """One row for each characteristic, section by section, with the measurement before beside it
    if there is one, and what changed.

    not_makers: keys of those whose limits are not the maker's; no_source: of those among them
    whose limits have no source at all.
    """
    earlier = {one["key"]: one for one in before["characteristics"]} if before else {}
    told = change["characteristics"] if change else []
    changed = {one["key"]: unbroken(changes.in_brief(one)) for one in told}
    printed = [
        one
        for one in result["characteristics"]
        if goes_on_a_certificate(one["key"], result["levelling"])
    ]
    lines = [
        replace(
            characteristic_line(one, earlier.get(one["key"])),
            section=section.title,
            change=changed.get(one["key"], ""),
            not_the_makers=one["key"] in not_makers,
            no_source=one["key"] in no_source,
        )
        for section, inside in sorted_into(printed, lambda one: one["key"])
        for one in inside
    ]
    return tuple(said_once(lines))


def said_once(lines: Sequence[CharacteristicLine]) -> Iterator[CharacteristicLine]:
    """The same rows; what is said of several pairs or points alike stands at the first alone."""
    said: set[str] = set()
    for line in lines:
        yield replace(line, description="") if line.description in said else line
        said.add(line.description)


def goes_on_a_certificate(key: str, levelling: str | None) -> bool:
    """Levelling by the head slanders sound parts: X and Z of control points stay off then."""
    seen_from_side = key.startswith("control.") and key.endswith((".x", ".z"))
    return not (seen_from_side and levelling in LEVELLED_BY_THE_HEAD)


def characteristic_line(
    one: CharacteristicOut, before: CharacteristicOut | None
) -> CharacteristicLine:
    """One row."""
    unit = one["unit"]
    nominal = one["nominal"]
    has_limit = one["lower"] is not None or one["upper"] is not None
    return CharacteristicLine(
        key=one["key"],
        name=labels.characteristic(one["key"]),
        description=labels.description(one["key"]),
        nominal="–" if nominal is None else senses.value(one["key"], nominal, unit, None),
        limits=numbers.limits(one["lower"], one["upper"], unit) if has_limit else _("no limit"),
        required=one["required"],
        now=reading(one),
        before=None if before is None else reading(before),
        bar=bar(one, before),
        sources=sources_of(one),
    )


def sources_of(one: CharacteristicOut) -> str:
    """Where the uncertainty comes from, in one line."""
    return unbroken(sources.in_one_line(one))


def unbroken(words: str) -> str:
    """The words with no line's end between a number and its sign."""
    space = "\N{NO-BREAK SPACE}"
    return words.replace("± ", f"±{space}").replace(" %", f"{space}%")


def handling_lines(result: ResultOut) -> tuple[HandlingLine, ...]:
    """The figures for information."""
    return tuple(
        HandlingLine(one["name"], labels.description(key), one["sense"], handling.uncertainty(one))
        for key, one in handling.in_order(result.get("handling", {}))
    )


def reading(one: CharacteristicOut) -> Reading:
    """A characteristic of one measurement as text."""
    decimals = numbers.places(one["expanded_uncertainty"])
    levelled = _("set by levelling, not measured") if one["set_by_levelling"] else ""
    probability = one["probability_within"]
    spread = numbers.spread(one["expanded_uncertainty"], one["unit"], decimals)
    return Reading(
        value=levelled or value_of(one, decimals),
        deviation=one["sense"],
        uncertainty="" if levelled else spread,
        coverage_factor="" if levelled else f"{one['coverage_factor']:.2f}",
        probability="" if probability is None else numbers.probability(probability),
        verdict=one["verdict"],
        finding=finding_words(one),
        word=verdicts.verdict(one["verdict"]),
        figure=levelled or numbers.size(one["value"], one["unit"], decimals),
    )


def value_of(one: CharacteristicOut, decimals: int) -> str:
    """The value; where it is the deviation from zero, that in words says all of it."""
    if one["nominal"] == 0.0:
        return one["sense"]
    return senses.value(one["key"], one["value"], one["unit"], decimals)


def finding_words(one: CharacteristicOut) -> str:
    """The verdict in words, with the side when outside."""
    return verdicts.verdict(
        one["verdict"],
        one["side"],
        cannot_decide=one["cannot_decide"],
        nominal=one["nominal"],
    )


def bar(one: CharacteristicOut, before: CharacteristicOut | None) -> Bar | None:
    """The tolerance bar's numbers; None where there is no limit or nothing to set it by."""
    ends = bar_ends.ends(one["key"])
    drawn = Bar(
        deviation=one["deviation"] or 0.0,
        expanded_uncertainty=one["expanded_uncertainty"],
        lower=one["lower"],
        upper=one["upper"],
        verdict=one["verdict"],
        before=None if before is None else before["deviation"],
        left_end=ends.left,
        right_end=ends.right,
        mirrored=ends.mirrored,
    )
    return drawn if drawn.has_limits and one["deviation"] is not None else None
