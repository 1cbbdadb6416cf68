"""Searching by words: "ase" finds "Åse", "ab12cd" finds the plate "AB-12 CD"."""

from collections.abc import Iterator

from sqlalchemy import ColumnElement, and_, or_, true
from sqlalchemy.orm import InstrumentedAttribute

from app.records.search_text import comparable

MOST_WORDS = 8
LONGEST_SEARCH = 200
MOST_ROWS = 500


def found_by(column: InstrumentedAttribute[str], text: str) -> ColumnElement[bool]:
    """The condition that the record's search text holds every word of `text`."""
    return and_(true(), *(_holds(column, word) for word in _words(text)))


def page(limit: int, offset: int) -> tuple[int, int]:
    """Limit and offset of a list within what a list may ask for."""
    return max(1, min(limit, MOST_ROWS)), max(0, offset)


def _words(text: str) -> Iterator[str]:
    yield from comparable(text[:LONGEST_SEARCH]).split()[:MOST_WORDS]


def _holds(column: InstrumentedAttribute[str], word: str) -> ColumnElement[bool]:
    holds = column.contains(word, autoescape=True)
    closed_up = "".join(sign for sign in word if sign.isalnum())
    if closed_up in ("", word):
        return holds
    return or_(holds, column.contains(closed_up, autoescape=True))
