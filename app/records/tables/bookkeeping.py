"""Counters of numbers, and the first answers of writes that may be repeated."""

import datetime

from sqlalchemy import UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from app.records.tables.base import Code, Document, Line, ShopRecord


class NumberCounter(ShopRecord):
    """The last number given of one kind in one year."""

    __tablename__ = "number_counter"
    __table_args__ = (UniqueConstraint("shop_id", "kind", "year"),)

    kind: Mapped[Code]
    year: Mapped[int]
    last: Mapped[int]


class IdempotencyKey(ShopRecord):
    """A write's key, what was sent under it, and what was answered."""

    __tablename__ = "idempotency_key"
    __table_args__ = (UniqueConstraint("shop_id", "actor", "key"),)
    deletable = True

    actor: Mapped[Code]
    key: Mapped[Line]
    request_hash: Mapped[Code]
    """SHA-256 of method, path and body."""
    status: Mapped[int]
    answer: Mapped[Document]
    created_at: Mapped[datetime.datetime] = mapped_column(index=True)
