"""Points as CSV: `feature,label,station,x,y,z,u`, comma, or semicolon with decimal comma.

All or nothing: one wrong cell refuses the file, and every wrong cell is named by its row. Rows
count as a text editor counts lines, the header being row 1. An empty cell is an absent value.
"""

import csv
import io
from collections.abc import Iterator, Mapping, Sequence

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
        renamed.append(Problem(problem.code, ".".join(parts), problem.facts))
    return BadInput(renamed, error.code)


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
        rows.append((line, _point(line, named, separator, problems)))
    problems += _mixed_marks(found, columns) if separator == ";" else []
    if problems:
        raise refused(problems[:MOST_PROBLEMS])
    return rows


def _point(
    line: int, named: Mapping[str, str], separator: str, problems: list[Problem]
) -> dict[str, object]:
    point: dict[str, object] = {}
    for column, cell in named.items():
        if column not in NUMBER_COLUMNS:
            point[column] = cell
            continue
        try:
            # In a file separated by commas a comma inside a cell is no decimal mark.
            point[column] = _number(cell, separator)
        except NotFinite:
            problems.append(
                Problem("not_finite", f"rows.{line}.{column}", {"met": shortened(cell)})
            )
        except NotANumber:
            facts = {"met": shortened(cell)}
            problems.append(Problem("not_a_number", f"rows.{line}.{column}", facts))
    return point


def _number(cell: str, separator: str) -> float:
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
