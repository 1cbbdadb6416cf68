"""A result as text for a terminal: the finding first, then the table, then what it rests on."""

import os
import shutil
import sys
import textwrap
from collections.abc import Iterator, Sequence

from app.cli.columns import in_columns, widths_of
from app.cli.further_text import paragraphs
from app.schemas.result import CharacteristicOut, HandlingFigureOut, ResultOut
from app.wording import (
    cautions,
    checks,
    handling,
    levelling,
    sections,
    sources,
    verdicts,
)
from app.wording.numbers import limits, places, size, spread
from app.wording.sections import sorted_into
from app.wording.translation import _

WIDEST, NARROWEST = 100, 60
NUMBERS = (2, 3)
"""Columns that hold numbers."""
MARKS = {"within": "●", "outside": "◇", "undecided": "◐", "no_tolerance": "·"}
COLOURS = {"within": "32", "outside": "31", "undecided": "33"}


def print_result(result: ResultOut, name: str | None = None) -> None:
    """Print one result on standard output; `name` heads it where there are several."""
    width = max(NARROWEST, min(WIDEST, shutil.get_terminal_size((WIDEST, 24)).columns))
    for line in lines(result, name, width, coloured=_coloured()):
        print(line)


def lines(result: ResultOut, name: str | None, width: int, *, coloured: bool) -> Iterator[str]:
    if name:
        yield _bold(name, coloured)
    verdict = result["finding"]["verdict"]
    for line in _wrapped(result["finding"]["sentence"], width):
        yield _in_colour(line, verdict, coloured)
    yield ""
    yield from _table(result["characteristics"], width, coloured)
    yield from _handling(result["handling"], width)
    yield from _advice(result["characteristics"], width)
    yield from _further(result, width)
    yield from _basis(result, width)
    for warning in result["warnings"]:
        yield from _wrapped(warning["message"], width, first="! ", rest="  ")
    yield ""
    yield from _wrapped(cautions.one_line(), width)


def _further(result: ResultOut, width: int) -> Iterator[str]:
    told = list(paragraphs(result))
    for text in told:
        inside = text.startswith(" ")
        yield from _wrapped(text, width, rest="     " if inside else "")
    if told:
        yield ""


def _basis(result: ResultOut, width: int) -> Iterator[str]:
    """What the numbers rest on."""
    for sentence in (
        result["rig_check"]["sentence"],
        result["noise_check"]["sentence"],
        checks.orientation(result["orientation"]),
        levelling.sentence(result["levelling"], result.get("levelled_by", [])),
        *checks.fork_bends(result["fork_bend_mm"]),
        checks.decision_rule(result["threshold"]),
        *([result["monte_carlo"]["sentence"]] if "monte_carlo" in result else []),
    ):
        yield from _wrapped(sentence, width)


def _table(rows: Sequence[CharacteristicOut], width: int, coloured: bool) -> Iterator[str]:
    told = {row["key"]: _cells(row) for row in rows}
    head = ["", _("characteristic"), _("value"), _("± U"), _("limits"), _("finding")]
    widths = widths_of([head, *told.values()])
    yield in_columns(head, widths, NUMBERS)
    sorted_rows = sorted_into(rows, lambda row: row["key"])
    for section, inside in sorted_rows:
        if len(sorted_rows) > 1:
            yield _bold(section.title, coloured)
        for row in inside:
            line = in_columns(told[row["key"]], widths, NUMBERS)
            yield _in_colour(line, row["verdict"], coloured)
            yield from _wrapped(_detail(row), width, first="    ", rest="    ")
    yield _("U: expanded uncertainty, for a coverage probability of 95 %.")
    yield ""


def _handling(figures: dict[str, HandlingFigureOut], width: int) -> Iterator[str]:
    told = handling.in_order(figures)
    if not told:
        return
    yield sections.handling_title()
    names = max(len(one["name"]) for _key, one in told)
    for _key, one in told:
        yield f"   {one['name'].ljust(names)}  {one['sense']} ({handling.uncertainty(one)})"
    yield from _wrapped(handling.caveat(), width)
    yield ""


def _advice(rows: Sequence[CharacteristicOut], width: int) -> Iterator[str]:
    """What would reduce the uncertainty, once for each source that is the largest of one."""
    found = sources.advice((row["name"], sources.parts_of(row)) for row in rows)
    if not found:
        return
    yield _("What would reduce the uncertainty most:")
    for one in found:
        text = _("{source}: {reduce} (largest part of: {names})")
        said = text.format(source=one.source, reduce=one.reduce, names=one.named)
        yield from _wrapped(said, width, first="  ", rest="    ")
    yield ""


def _cells(row: CharacteristicOut) -> list[str]:
    decimals = places(row["expanded_uncertainty"])
    sure = (
        "–"
        if row["set_by_levelling"]
        else spread(row["expanded_uncertainty"], row["unit"], decimals)
    )
    return [
        MARKS[row["verdict"]],
        row["name"],
        size(row["value"], row["unit"], decimals),
        sure.removeprefix("± "),
        limits(row["lower"], row["upper"], row["unit"]),
        verdicts.verdict(row["verdict"]),
    ]


def _detail(row: CharacteristicOut) -> str:
    """Which way, and where most of the uncertainty comes from."""
    parts = [row["sense"]]
    if row["value"] < 0 and row["value_sense"] != row["sense"]:
        parts.insert(0, row["value_sense"])
    if row["side"] or row["cannot_decide"]:
        parts.append(
            verdicts.verdict(
                row["verdict"],
                row["side"],
                cannot_decide=row["cannot_decide"],
                nominal=row["nominal"],
            )
        )
    if row["budget"]:
        told = sources.in_one_line(row).replace(" %", "\N{NO-BREAK SPACE}%")
        parts.append(_("uncertainty from {sources}").format(sources=told))
    return "; ".join(parts)


def _wrapped(text: str, width: int, first: str = "", rest: str = "") -> list[str]:
    return textwrap.wrap(text, width, initial_indent=first, subsequent_indent=rest)


def _coloured() -> bool:
    return sys.stdout.isatty() and "NO_COLOR" not in os.environ and os.environ.get("TERM") != "dumb"


def _in_colour(line: str, verdict: str, coloured: bool) -> str:
    """The word stands in the line: colour only repeats it."""
    code = COLOURS.get(verdict)
    return f"\x1b[{code}m{line}\x1b[0m" if coloured and code else line


def _bold(line: str, coloured: bool) -> str:
    return f"\x1b[1m{line}\x1b[0m" if coloured else line
