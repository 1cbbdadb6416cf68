"""Searching by words: "ase" finds "Åse", "ab12cd" finds the plate "AB-12 CD".

SQLite folds ASCII letters only, so every record keeps its words folded here, beside them.
"""

import unicodedata
from collections.abc import Iterator
from typing import Any

from sqlalchemy import ColumnElement, and_, or_, true
from sqlalchemy.orm import InstrumentedAttribute

MOST_WORDS = 8
LONGEST_SEARCH = 200

# Letters that have no decomposition, and what a person without that key would type.
_LETTERS = str.maketrans(
    {"ø": "o", "ł": "l", "đ": "d", "ð": "d", "þ": "th", "æ": "ae", "œ": "oe", "ı": "i"}
)


def folded(text: str) -> str:
    """The text in small letters without accents, blanks made single."""
    apart = unicodedata.normalize("NFKD", text.casefold())
    bare = "".join(letter for letter in apart if not unicodedata.combining(letter))
    return " ".join(bare.translate(_LETTERS).split())


def closed_up(text: str) -> str:
    """The text folded, letters and digits only: a plate or number without spaces and dashes."""
    return "".join(letter for letter in folded(text) if letter.isalnum())


def search_text(*texts: str | None, numbers: tuple[str | None, ...] = ()) -> str:
    """What a record is found by: its texts folded, its numbers also closed up."""
    parts = [folded(text) for text in (*texts, *numbers) if text]
    parts += [closed_up(number) for number in numbers if number]
    return " ".join(dict.fromkeys(part for part in parts if part))


def found_by(
    column: InstrumentedAttribute[Any] | ColumnElement[Any], text: str
) -> ColumnElement[bool]:
    """The condition that the record's search text holds every word of `text`."""
    return and_(true(), *(_holds(column, word) for word in _words(text)))


def _words(text: str) -> Iterator[str]:
    yield from folded(text[:LONGEST_SEARCH]).split()[:MOST_WORDS]


def _holds(
    column: InstrumentedAttribute[Any] | ColumnElement[Any], word: str
) -> ColumnElement[bool]:
    bare = closed_up(word)
    holds = column.contains(word, autoescape=True)
    return holds if bare in ("", word) else or_(holds, column.contains(bare, autoescape=True))
