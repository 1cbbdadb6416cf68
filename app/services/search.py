"""Searching by words: "ase" finds "Åse", "ab12cd" finds the plate "AB-12 CD".

A typed word is found at the beginning of a word; what was typed as a whole, closed up, is found as
a plate or number, or as the last signs of one.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import ColumnElement, and_, false, or_, true
from sqlalchemy.orm import InstrumentedAttribute

from app.records.search_text import BESIDE, closed_up, words_in

MOST_WORDS = 8
LONGEST_SEARCH = 200
MOST_ROWS = 500
MOST_OFFSET = 1_000_000
SHORTEST_END = 5
"""Signs of a number's end that tell it apart: a frame number is often told by its last ones."""


@dataclass(frozen=True, slots=True)
class NamesOf:
    """A search text without what stands in it beside names and numbers: address and mail."""

    column: InstrumentedAttribute[str]

    def holds(self, part: str) -> ColumnElement[bool]:
        """The condition that the part stands there; it is made of letters, digits and spaces."""
        before = self.column.like(f"%{part}%{BESIDE}%")
        return or_(before, and_(self.column.contains(part), ~self.column.contains(BESIDE)))


Column = InstrumentedAttribute[str] | ColumnElement[str] | NamesOf


def found_by(column: Column, text: str) -> ColumnElement[bool]:
    """The condition that the record's search text holds every word of `text`."""
    return found_in(text, column)


def found_in(text: str, *columns: Column) -> ColumnElement[bool]:
    """The condition that each word of `text` begins a word in one of the columns, or that all of
    it closed up is a plate or number there, or the beginning or end of one."""
    typed = text[:LONGEST_SEARCH]
    words = words_in(typed)[:MOST_WORDS]
    if not words:
        return false() if typed.strip() else true()
    each = and_(true(), *(_held(columns, f" {word}") for word in words))
    whole = mark_in(typed)
    if not whole:
        return each
    ends = [f"{whole} "] if len(whole) >= SHORTEST_END else []
    return or_(each, *(_held(columns, part) for part in (f" {whole}", *ends)))


def is_exactly(text: str, *columns: Column) -> ColumnElement[bool]:
    """The condition that a plate or number is just this, without its spaces and dashes."""
    whole = mark_in(text[:LONGEST_SEARCH])
    return _held(columns, f" {whole} ") if whole else false()


def holds(kept: str, text: str) -> bool:
    """Whether a search text holds what was typed, as `found_in` asks the database."""
    typed = text[:LONGEST_SEARCH]
    if all(f" {word}" in kept for word in words_in(typed)[:MOST_WORDS]):
        return True
    whole = mark_in(typed)
    ends = len(whole) >= SHORTEST_END and f"{whole} " in kept
    return bool(whole) and (f" {whole}" in kept or ends)


def asks_beside(text: str) -> bool:
    """Whether addresses and mail are looked in at once: nothing is sought, or a mail is."""
    return BESIDE in text or not words_in(text)


def mark_in(text: str) -> str:
    """The text closed up where it may be a plate or a number; empty where it holds no digit."""
    whole = closed_up(text)
    return whole if any(sign.isdigit() for sign in whole) else ""


def page(limit: int, offset: int) -> tuple[int, int]:
    """Limit and offset of a list within what a list may ask for."""
    return max(1, min(limit, MOST_ROWS)), max(0, min(offset, MOST_OFFSET))


def _held(columns: Sequence[Column], part: str) -> ColumnElement[bool]:
    return or_(
        *(
            column.holds(part)
            if isinstance(column, NamesOf)
            else column.contains(part, autoescape=True)
            for column in columns
        )
    )
