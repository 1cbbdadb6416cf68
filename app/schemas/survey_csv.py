"""Points as CSV: `feature,label,station,x,y,z,u`, comma, or semicolon with decimal comma.

All or nothing: one wrong cell refuses the file, and every wrong cell is named by its row. Rows
count as a text editor counts lines, the header being row 1. An empty cell is an absent value.
"""

import csv
import io
from collections.abc import Iterator, Sequence
from math import nan
from typing import NamedTuple

from app.errors import BadInput, Problem
from app.schemas.number_text import NotANumber, NotFinite, number_from
from app.schemas.problems import MOST_PROBLEMS, refused, shortened
from app.schemas.survey import MOST_POINTS

NEEDED_COLUMNS = ("feature", "label", "station", "x", "y", "z", "u")
FURTHER_COLUMNS = ("offset", "turn")
NUMBER_COLUMNS = frozenset({"x", "y", "z", "u", "offset"})

Row = tuple[int, dict[str, object]]
"""The line on which a point stands, and the point as it would stand in JSON."""


class Layout(NamedTuple):
    """The columns of a kind of table, and how long it may be."""

    what: str | None
    """Names the kind in refusals; None: points of a survey."""
    needed: tuple[str, ...]
    further: tuple[str, ...]
    numbers: frozenset[str]
    most: int


POINTS = Layout(None, NEEDED_COLUMNS, FURTHER_COLUMNS, NUMBER_COLUMNS, MOST_POINTS)


def rows_from_csv(text: str, layout: Layout = POINTS) -> list[Row]:
    """Return the rows in `text`, not yet checked against the schema; raises BadInput."""
    separator = _separator(text)
    lines = _lines(text, separator)
    header = next(lines, None)
    if header is None:
        raise refused([Problem("file_empty", "")])
    columns = _columns(header[1], layout)
    found = [line for line in lines if any(cell.strip() for cell in line[1])]
    if not found:
        raise refused([Problem("no_rows", "", {"what": layout.what})])
    if len(found) > layout.most:
        facts = {"met": len(found), "limit": layout.most, "what": layout.what}
        raise refused([Problem("too_many_rows", "", facts)])
    return _rows(found, columns, separator, layout)


def placed_by_row(error: BadInput, rows: Sequence[Row], field: str = "points") -> BadInput:
    """Return `error` with `points.3.x` renamed to the row of the file, `rows.5.x`."""
    renamed = []
    for problem in error.problems:
        parts = problem.field.split(".")
        if parts[0] == field and len(parts) > 1 and parts[1].isdigit():
            parts[:2] = ["rows", str(rows[int(parts[1])][0])]
        renamed.append(Problem(_code(problem), ".".join(parts), problem.facts))
    return BadInput(renamed, renamed[0].code)


def _code(problem: Problem) -> str:
    """A cell that should be a number says how numbers are written."""
    is_number = problem.code == "wrong_type" and problem.facts.get("needed") == "number"
    return "not_a_number" if is_number else problem.code


def _separator(text: str) -> str:
    first = text.lstrip().split("\n", 1)[0]
    return ";" if ";" in first else ","


def _lines(text: str, separator: str) -> Iterator[tuple[int, list[str]]]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    try:
        for cells in reader:
            yield reader.line_num, cells
    except csv.Error:
        raise refused([Problem("csv_quotes", f"rows.{reader.line_num}")]) from None


def _columns(header: Sequence[str], layout: Layout) -> list[str]:
    columns, known = [cell.strip() for cell in header], layout.needed + layout.further
    problems = [
        Problem("unknown_column", "rows.1", {"met": shortened(c), "allowed": known})
        for c in columns
        if c not in known
    ]
    missing = tuple(c for c in layout.needed if c not in columns)
    if missing:
        facts = {"missing": missing, "what": layout.what}
        problems.append(Problem("column_missing", "rows.1", facts))
    problems += [
        Problem("column_twice", "rows.1", {"met": c}) for c in known if columns.count(c) > 1
    ]
    if problems:
        raise refused(problems[:MOST_PROBLEMS])
    return columns


def _rows(
    found: Sequence[tuple[int, list[str]]],
    columns: Sequence[str],
    separator: str,
    layout: Layout,
) -> list[Row]:
    problems: list[Problem] = []
    rows: list[Row] = []
    for line, cells in found:
        if len(cells) != len(columns):
            facts = {"met": len(cells), "needed": len(columns)}
            problems.append(Problem("row_length", f"rows.{line}", facts))
            continue
        named = {c: cell.strip() for c, cell in zip(columns, cells, strict=True) if cell.strip()}
        values = {
            c: _value(cell, separator) if c in layout.numbers else cell for c, cell in named.items()
        }
        rows.append((line, values))
    problems += _mixed_marks(found, columns, layout) if separator == ";" else []
    if problems:
        raise refused(problems[:MOST_PROBLEMS])
    return rows


def _value(cell: str, separator: str) -> object:
    """A cell as it would stand in JSON; what is no number stays a text, and the schema refuses it.

    So every wrong cell of the file is found in one go, whatever is wrong with it.
    """
    try:
        return _number(cell, separator)
    except NotFinite:
        return nan
    except NotANumber:
        return cell


def _number(cell: str, separator: str) -> float:
    # In a file separated by commas a comma inside a cell is no decimal mark.
    if separator == "," and "," in cell:
        raise NotANumber(cell)
    return number_from(cell)


def _mixed_marks(
    found: Sequence[tuple[int, list[str]]], columns: Sequence[str], layout: Layout
) -> list[Problem]:
    """Points beside commas could be thousands: 1.234 must not be read as 1,234."""
    numbers = [
        (line, cell)
        for line, cells in found
        for column, cell in zip(columns, cells, strict=False)
        if column in layout.numbers
    ]
    with_comma = any("," in cell for _, cell in numbers)
    with_point = next((line for line, cell in numbers if "." in cell), None)
    if with_comma and with_point is not None:
        return [Problem("mixed_decimal_marks", f"rows.{with_point}")]
    return []
