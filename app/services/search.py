"""Searching by words: "ase" finds "Åse", "ab12cd" finds the plate "AB-12 CD"."""

from collections.abc import Iterator, Sequence

from sqlalchemy import ColumnElement, and_, or_, true
from sqlalchemy.orm import InstrumentedAttribute

from app.records.search_text import comparable

MOST_WORDS = 8
LONGEST_SEARCH = 200
MOST_ROWS = 500
MOST_OFFSET = 1_000_000


Column = InstrumentedAttribute[str] | ColumnElement[str]


def found_by(column: Column, text: str) -> ColumnElement[bool]:
    """The condition that the record's search text holds every word of `text`."""
    return found_in(text, column)


def found_in(text: str, *columns: Column) -> ColumnElement[bool]:
    """The condition that each word of `text` stands in one of the columns."""
    return and_(true(), *(_stands_in_one(columns, word) for word in _words(text)))


def page(limit: int, offset: int) -> tuple[int, int]:
    """Limit and offset of a list within what a list may ask for."""
    return max(1, min(limit, MOST_ROWS)), max(0, min(offset, MOST_OFFSET))


def _words(text: str) -> Iterator[str]:
    yield from comparable(text[:LONGEST_SEARCH]).split()[:MOST_WORDS]


def _stands_in_one(columns: Sequence[Column], word: str) -> ColumnElement[bool]:
    """The word as it is, or closed up like a plate without its dashes."""
    closed_up = "".join(sign for sign in word if sign.isalnum())
    forms = dict.fromkeys([word, closed_up or word])
    return or_(*(column.contains(form, autoescape=True) for column in columns for form in forms))
