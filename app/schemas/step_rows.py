"""Rows of points for one step of a measurement, pasted or from an instrument's file.

Three numbers a row, X Y Z, or four with the standard uncertainty; a name may stand before them. A
row that begins with a feature has the columns of `survey_csv`. A first line that names columns is
heeded. Cells are parted by tab, semicolon, comma or space; only
where no comma parts them may it be a decimal mark.
"""

import re
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from app.chassis.survey import FEATURES
from app.errors import BadInput, Problem
from app.schemas.number_text import NotANumber, NotFinite, number_from
from app.schemas.problems import MOST_PROBLEMS, refused, shortened
from app.schemas.survey_csv import FURTHER_COLUMNS, NEEDED_COLUMNS

MOST_ROWS = 200
PLACES = ("x", "y", "z")
NUMBERS = (*PLACES, "u", "offset")
NAMES = ("name", "feature", "label", "station", "turn")
OF_A_SURVEY = (*NEEDED_COLUMNS, *FURTHER_COLUMNS)
FEWEST_OF_A_SURVEY = OF_A_SURVEY.index("z") + 1


class StepRow(NamedTuple):
    """One row: the line on which it stands, its name if it has one, its cells by column, and
    the station that it names."""

    line: int
    name: str | None
    texts: dict[str, str]
    station: str | None = None

    @property
    def reading(self) -> dict[str, object]:
        """The row as the floor takes a reading: numbers, and beside them what was written."""
        numbers: dict[str, object] = {
            column: number_from(text) for column, text in self.texts.items() if column in NUMBERS
        }
        written = {column: self.texts[column] for column in numbers}
        named = {} if self.name is None else {"name": self.name}
        return {**named, **numbers, "as_entered": written}


def step_rows(
    text: str, feature: str, label: str | None = None, *, again: bool = True
) -> list[StepRow]:
    """The rows of a text for a step that takes this feature. Raises BadInput with every problem.

    label: of the step; None where the points of the step have names of their own. again: whether
    the step takes what is measured again.
    """
    lines = [(n, line.strip()) for n, line in enumerate(text.splitlines(), 1) if line.strip()]
    if not lines:
        raise refused([Problem("no_rows", "", {"what": None})])
    cells = [(n, parted(line)) for n, line in lines]
    columns = header(cells[0][1])
    if columns:
        cells = cells[1:]
    if not cells:
        raise refused([Problem("no_rows", "", {"what": None})])
    if len(cells) > MOST_ROWS:
        facts = {"met": len(cells), "limit": MOST_ROWS, "what": None}
        raise refused([Problem("too_many_rows", "", facts)])
    rows, problems = [], [*mixed(cells)]
    for line, parts in cells:
        try:
            rows.append(row_of(line, parts, columns, feature, label))
        except BadInput as error:
            problems += error.problems
    problems += of_other_stations(rows, again)
    if problems:
        raise refused(problems[:MOST_PROBLEMS])
    return rows


def of_other_stations(rows: Sequence[StepRow], again: bool) -> Iterator[Problem]:
    """Rows of a return where none is taken, and of more stations than one."""
    first = next((row.station for row in rows if row.station), None)
    for row in rows:
        if row.station and row.station.startswith("return") and not again:
            yield Problem("row_of_a_return", f"rows.{row.line}", {"met": shortened(row.station)})
        elif row.station and row.station != first:
            facts = {"met": shortened(row.station), "needed": shortened(first or "")}
            yield Problem("row_of_another_station", f"rows.{row.line}", facts)


def parted(line: str) -> list[str]:
    """The cells of a line."""
    if "\t" in line:
        return [cell.strip() for cell in line.split("\t")]
    if ";" in line:
        return [cell.strip() for cell in line.split(";")]
    if line.count(",") >= len(PLACES) - 1 and not re.search(r"\d\s+[-+]?\d", line):
        return [cell.strip() for cell in line.split(",")]
    return line.split()


def header(cells: Sequence[str]) -> list[str] | None:
    """The columns, when the first line names them."""
    named = [cell.lower() for cell in cells]
    if not set(PLACES) <= set(named):
        return None
    problems = [
        Problem("unknown_column", "rows.1", {"met": shortened(c), "allowed": (*NAMES, *NUMBERS)})
        for c in named
        if c not in (*NAMES, *NUMBERS)
    ]
    problems += [
        Problem("column_twice", "rows.1", {"met": c}) for c in set(named) if named.count(c) > 1
    ]
    if problems:
        raise refused(problems)
    return named


def row_of(
    line: int, cells: Sequence[str], columns: list[str] | None, feature: str, label: str | None
) -> StepRow:
    """One row with its numbers checked."""
    named = by_column(line, cells, columns)
    if named.get("feature", feature) != feature:
        facts = {"met": shortened(named["feature"]), "needed": feature}
        raise refused([Problem("row_of_another_step", f"rows.{line}", facts)])
    name = named.get("name") or (named.get("label") if label is None else None)
    if label is not None and named.get("label", label) != label:
        facts = {"met": shortened(named["label"]), "needed": label}
        raise refused([Problem("row_of_another_step", f"rows.{line}", facts)])
    texts = {column: named[column] for column in NUMBERS if column in named}
    problems = [*wrong_cells(line, texts)]
    if problems:
        raise refused(problems)
    return StepRow(line, name, texts, named.get("station"))


def by_column(line: int, cells: Sequence[str], columns: list[str] | None) -> dict[str, str]:
    """The cells that hold something, by column; without a header by their number."""
    if columns is None:
        columns = columns_without_header(line, cells)
    if len(cells) != len(columns):
        facts = {"met": len(cells), "needed": len(columns)}
        raise refused([Problem("row_length", f"rows.{line}", facts)])
    return {column: cell for column, cell in zip(columns, cells, strict=True) if cell}


def columns_without_header(line: int, cells: Sequence[str]) -> list[str]:
    """What the cells of a row are that no header names. Raises BadInput where that is not clear."""
    if is_of_a_survey(cells):
        return list(OF_A_SURVEY[: len(cells)])
    named = bool(cells) and not is_number(cells[0])
    if len(cells) - named not in (len(PLACES), len(PLACES) + 1):
        raise refused([Problem("row_unclear", f"rows.{line}", {"met": len(cells)})])
    return [*(["name"] if named else []), *NUMBERS[: len(cells) - named]]


def is_of_a_survey(cells: Sequence[str]) -> bool:
    """Whether a row has the columns of a survey's table: feature, label, station, X, Y, Z …"""
    return cells[0] in FEATURES and FEWEST_OF_A_SURVEY <= len(cells) <= len(OF_A_SURVEY)


def is_number(cell: str) -> bool:
    try:
        number_from(cell)
    except NotFinite:
        return True
    except NotANumber:
        return False
    return True


def wrong_cells(line: int, texts: dict[str, str]) -> Iterator[Problem]:
    """Cells that are no numbers, and coordinates that are not there."""
    for column in PLACES:
        if column not in texts:
            yield Problem("missing", f"rows.{line}.{column}")
    for column, cell in texts.items():
        where = f"rows.{line}.{column}"
        try:
            number_from(cell)
        except NotFinite:
            yield Problem("not_finite", where, {"met": shortened(cell)})
        except NotANumber:
            yield Problem("not_a_number", where, {"met": shortened(cell)})


def mixed(cells: Sequence[tuple[int, list[str]]]) -> Iterator[Problem]:
    """Commas beside points could be thousands: 1,234 must not be read as 1.234."""
    numbers = [(line, cell) for line, parts in cells for cell in parts if is_number(cell)]
    with_point = next((line for line, cell in numbers if "." in cell), None)
    if with_point is not None and any("," in cell for _, cell in numbers):
        yield Problem("mixed_decimal_marks", f"rows.{with_point}")
