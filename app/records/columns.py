"""Column types that mean the same on SQLite (STRICT tables) and on PostgreSQL.

SQLite drops time zones and takes any text for a date, so times and dates are written there as
fixed-width text that sorts in order of time.
"""

import datetime
from typing import Any

from sqlalchemy import Boolean, Date, DateTime, Dialect, Double, Integer, LargeBinary, Text
from sqlalchemy.dialects.sqlite import REAL
from sqlalchemy.types import TypeDecorator, TypeEngine

UTC = datetime.UTC


class NaiveTime(ValueError):
    """A time without a zone was handed to the records: it could mean anything."""


class UtcDateTime(TypeDecorator[datetime.datetime]):
    """A moment. Takes only times with a zone, gives back UTC."""

    impl = DateTime
    cache_ok = True

    def load_dialect_impl(self, dialect: Dialect) -> TypeEngine[Any]:
        plain = Text() if dialect.name == "sqlite" else DateTime(timezone=True)
        return dialect.type_descriptor(plain)

    def process_bind_param(self, value: datetime.datetime | None, dialect: Dialect) -> Any:
        if value is None:
            return None
        if value.tzinfo is None or value.utcoffset() is None:
            raise NaiveTime(f"time without a zone: {value!r}")
        moment = value.astimezone(UTC)
        if dialect.name != "sqlite":
            return moment
        return moment.replace(tzinfo=None).isoformat(timespec="microseconds") + "Z"

    def process_result_value(self, value: Any, dialect: Dialect) -> datetime.datetime | None:
        if value is None:
            return None
        if isinstance(value, str):
            value = datetime.datetime.fromisoformat(value)
        moment: datetime.datetime = value
        return moment.astimezone(UTC)


class Day(TypeDecorator[datetime.date]):
    """A date without a time of day."""

    impl = Date
    cache_ok = True

    def load_dialect_impl(self, dialect: Dialect) -> TypeEngine[Any]:
        return dialect.type_descriptor(Text() if dialect.name == "sqlite" else Date())

    def process_bind_param(self, value: datetime.date | None, dialect: Dialect) -> Any:
        if isinstance(value, datetime.datetime):
            raise TypeError(f"a date is needed, not a moment: {value!r}")
        if value is None or dialect.name != "sqlite":
            return value
        return value.isoformat()

    def process_result_value(self, value: Any, dialect: Dialect) -> datetime.date | None:
        if isinstance(value, str):
            return datetime.date.fromisoformat(value)
        return None if value is None else datetime.date(value.year, value.month, value.day)


class Flag(TypeDecorator[bool]):
    """Yes or no; STRICT tables know no BOOLEAN."""

    impl = Boolean
    cache_ok = True

    def load_dialect_impl(self, dialect: Dialect) -> TypeEngine[Any]:
        return dialect.type_descriptor(Integer() if dialect.name == "sqlite" else Boolean())

    def process_bind_param(self, value: bool | None, dialect: Dialect) -> Any:
        if value is None:
            return None
        return int(value) if dialect.name == "sqlite" else bool(value)

    def process_result_value(self, value: Any, dialect: Dialect) -> bool | None:
        return None if value is None else bool(value)


class Real(TypeDecorator[float]):
    """A number in double precision."""

    impl = Double
    cache_ok = True

    def load_dialect_impl(self, dialect: Dialect) -> TypeEngine[Any]:
        return dialect.type_descriptor(REAL() if dialect.name == "sqlite" else Double())


class Words(TypeDecorator[str]):
    """Text of at most `limit` characters; the limit becomes a CHECK of the table."""

    impl = Text
    cache_ok = True

    def __init__(self, limit: int) -> None:
        super().__init__()
        self.limit = limit


class Content(TypeDecorator[bytes]):
    """The bytes of a file."""

    impl = LargeBinary
    cache_ok = True
