"""What many tests begin with is made for the first of them; the others get a copy of its records.

Only where nothing happened yet since the shop was furnished: else it is made anew, in its place.
"""

import sqlite3
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Protocol

from app.records.session import Database
from tests.databases import NOW

UNTOUCHED = """
    SELECT (SELECT count(*) FROM job) + (SELECT count(*) FROM sign_in_session),
        (SELECT count(*) FROM event),
        (SELECT group_concat(password_hash) FROM person)
"""
"""What has happened, all of which is in the log; hashes are salted, so they tell who furnished."""


class Place(Protocol):
    """A shop: its records and its clock."""

    database: Database
    clock: dict[str, datetime]


@dataclass(frozen=True)
class Made:
    """What the maker gave back, and what the shop was like then."""

    given: str
    records: Path
    now: datetime


_made: dict[tuple[object, ...], Made] = {}


@cache
def _kept() -> TemporaryDirectory[str]:
    """Where this process keeps the records; gone at its end."""
    return TemporaryDirectory()


def once(place: Place, what: str, make: Callable[[], str]) -> str:
    """What `make` gives back, which stands for what it does to the records and the clock."""
    file = place.database.file
    if file is None or place.clock["now"] != NOW:
        return make()
    happened, *before = _told(file)
    if happened:
        return make()
    known = _made.get((what, *before))
    if known is None:
        return _keep(place, file, (what, *before), make())
    _copy(known.records, file)
    place.clock["now"] = known.now
    return known.given


def _told(file: Path) -> tuple[object, ...]:
    with closing(sqlite3.connect(file)) as opened:
        return tuple(opened.execute(UNTOUCHED).fetchone())


def _keep(place: Place, file: Path, key: tuple[object, ...], given: str) -> str:
    records = Path(_kept().name) / f"{len(_made)}.sqlite3"
    _copy(file, records)
    _made[key] = Made(given, records, place.clock["now"])
    return given


def _copy(source: Path, target: Path) -> None:
    with closing(sqlite3.connect(source)) as one, closing(sqlite3.connect(target)) as other:
        other.execute("PRAGMA synchronous = OFF")
        one.backup(other)
