"""Cells of a table in columns of equal width, for a terminal."""

from collections.abc import Collection, Sequence


def widths_of(rows: Sequence[Sequence[str]]) -> list[int]:
    """Return the width of each column; all rows have the same number of cells."""
    return [max(map(len, column)) for column in zip(*rows, strict=True)]


def in_columns(cells: Sequence[str], widths: Sequence[int], right: Collection[int] = ()) -> str:
    """Return one line; the columns named in `right` end at their right edge, as numbers do."""
    aligned = [
        cell.rjust(width) if place in right else cell.ljust(width)
        for place, (cell, width) in enumerate(zip(cells, widths, strict=True))
    ]
    return "  ".join(aligned).rstrip()
