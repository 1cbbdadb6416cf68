"""Points as CSV: `feature,label,station,x,y,z,u`, comma, or semicolon with decimal comma.

All or nothing: one wrong cell refuses the file, and every wrong cell is named by its row. Rows
count as a text editor counts lines, the header being row 1. An empty cell is an absent value.
"""

import csv
import io
from collections.abc import Iterator, Sequence
from math import nan

from app.errors import BadInput, Problem
from app.schemas.number_text import NotANumber, NotFinite, number_from
from app.schemas.problems import MOST_PROBLEMS, refused, shortened
from app.schemas.survey import MOST_POINTS

NEEDED_COLUMNS = ("feature", "label", "station", "x", "y", "z", "u")
FURTHER_COLUMNS = ("offset", "turn")
COLUMNS = NEEDED_COLUMNS + FURTHER_COLUMNS
NUMBER_COLUMNS = frozenset({"x", "y", "z", "u", "offset"})

Row = tuple[int, dict[str, object]]
"""The line on which a point stands, and the point as it would stand in JSON."""


def rows_from_csv(text: str) -> list[Row]:
    """Return the points in `text`, not yet checked against the schema; raises BadInput."""
    separator = _separator(text)
    lines = _lines(text, separator)
    header = next(lines, None)
    if header is None:
        raise refused([Problem("file_empty", "")])
    columns = _columns(header[1])
    found = [line for line in lines if any(cell.strip() for cell in line[1])]
    if not found:
        raise refused([Problem("no_rows", "")])
    if len(found) > MOST_POINTS:
        facts = {"met": len(found), "limit": MOST_POINTS}
        raise refused([Problem("too_many_rows", "", facts)])
    return _rows(found, columns, separator)


def placed_by_row(error: BadInput, rows: Sequence[Row]) -> BadInput:
    """Return `error` with `points.3.x` renamed to the row of the file, `rows.5.x`."""
    renamed = []
    for problem in error.problems:
        parts = problem.field.split(".")
        if parts[0] == "points" and len(parts) > 1 and parts[1].isdigit():
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


def _columns(header: Sequence[str]) -> list[str]:
    columns = [cell.strip() for cell in header]
    problems = [
        Problem("unknown_column", "rows.1", {"met": shortened(c), "allowed": COLUMNS})
        for c in columns
        if c not in COLUMNS
    ]
    missing = tuple(c for c in NEEDED_COLUMNS if c not in columns)
    if missing:
        problems.append(Problem("column_missing", "rows.1", {"missing": missing}))
    problems += [
        Problem("column_twice", "rows.1", {"met": c}) for c in COLUMNS if columns.count(c) > 1
    ]
    if problems:
        raise refused(problems[:MOST_PROBLEMS])
    return columns


def _rows(
    found: Sequence[tuple[int, list[str]]], columns: Sequence[str], separator: str
) -> list[Row]:
    problems: list[Problem] = []
    rows: list[Row] = []
    for line, cells in found:
        if len(cells) != len(columns):
            facts = {"met": len(cells), "needed": len(columns)}
            problems.append(Problem("row_length", f"rows.{line}", facts))
            continue
        named = {c: cell.strip() for c, cell in zip(columns, cells, strict=True) if cell.strip()}
        rows.append((line, {c: _value(c, cell, separator) for c, cell in named.items()}))
    problems += _mixed_marks(found, columns) if separator == ";" else []
    if problems:
        raise refused(problems[:MOST_PROBLEMS])
    return rows


def _value(column: str, cell: str, separator: str) -> object:
    """A cell as it would stand in JSON; what is no number stays a text, and the schema refuses it.

    So every wrong cell of the file is found in one go, whatever is wrong with it.
    """
    if column not in NUMBER_COLUMNS:
        return cell
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


def _mixed_marks(found: Sequence[tuple[int, list[str]]], columns: Sequence[str]) -> list[Problem]:
    """Points beside commas could be thousands: 1.234 must not be read as 1,234."""
    numbers = [
        (line, cell)
        for line, cells in found
        for column, cell in zip(columns, cells, strict=False)
        if column in NUMBER_COLUMNS
    ]
    with_comma = any("," in cell for _, cell in numbers)
    with_point = next((line for line, cell in numbers if "." in cell), None)
    if with_comma and with_point is not None:
        return [Problem("mixed_decimal_marks", f"rows.{with_point}")]
    return []
