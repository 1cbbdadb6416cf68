"""The log of every change, as a chain of digests, and the erasable values beside it."""

import datetime

from sqlalchemy import UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from app.records.tables.base import Code, Document, Line, ShopRecord, link


class Event(ShopRecord):
    __tablename__ = "event"
    __table_args__ = (UniqueConstraint("shop_id", "position"),)
    append_only = True

    position: Mapped[int]
    """1, 2, 3 ... within the shop, without a gap."""
    at: Mapped[datetime.datetime]
    actor: Mapped[Code]
    """`person:3`, `token:1`, `command_line`, `link:7`: never a name."""
    what: Mapped[Code] = mapped_column(index=True)
    subject: Mapped[Line] = mapped_column(index=True)
    """`job:J-2026-0001`, `customer:5` ..."""
    public: Mapped[Document]
    """Canonical JSON of values that are nobody's personal data."""
    personal: Mapped[Document]
    """Canonical JSON: name of the value -> salted SHA-256; the value lies beside it."""
    previous_hash: Mapped[Code]
    hash: Mapped[Code]


class EventHead(ShopRecord):
    """Position and hash of the newest event, so that a cut-off tail is noticed."""

    __tablename__ = "event_head"
    __table_args__ = (UniqueConstraint("shop_id"),)

    position: Mapped[int]
    hash: Mapped[Code]


class PersonalValue(ShopRecord):
    """A personal value of an event. Erasing empties it and its salt; the chain stays whole."""

    __tablename__ = "personal_value"
    __table_args__ = (UniqueConstraint("event_id", "name"),)

    event_id: Mapped[int] = link("event", index=False)
    about: Mapped[Line] = mapped_column(index=True)
    """Whose it is: `customer:5`, `person:3` ..."""
    name: Mapped[Code]
    salt: Mapped[Code | None]
    value: Mapped[Document | None]
    """JSON."""
    erased_at: Mapped[datetime.datetime | None]
