"""Customers and their machines."""

import datetime

from sqlalchemy.orm import Mapped, mapped_column

from app.records.tables.base import Code, Line, Paragraph, ShopRecord, link


class Customer(ShopRecord):
    __tablename__ = "customer"

    name: Mapped[Line]
    address: Mapped[Paragraph] = mapped_column(default="")
    phone: Mapped[Line] = mapped_column(default="")
    email: Mapped[Line] = mapped_column(default="")
    note: Mapped[Paragraph] = mapped_column(default="")
    search_text: Mapped[Paragraph] = mapped_column(default="")
    created_at: Mapped[datetime.datetime]
    erased_at: Mapped[datetime.datetime | None]
    """When the personal values were erased at the customer's wish."""
    erasure_asked_at: Mapped[datetime.datetime | None] = mapped_column(index=True)
    """When the customer asked for that; None: never, or the wish was taken back."""
    version: Mapped[int] = mapped_column(default=1)

    __mapper_args__ = {"version_id_col": version}  # noqa: RUF012


class Machine(ShopRecord):
    """A customer's motorcycle. It may change hands: the job keeps whose it was then."""

    __tablename__ = "machine"

    customer_id: Mapped[int] = link("customer")
    make: Mapped[Line]
    model: Mapped[Line]
    year: Mapped[int | None]
    frame_number: Mapped[Code] = mapped_column(index=True)
    """Upper case, without spaces and dashes."""
    frame_number_as_read: Mapped[Line] = mapped_column(default="")
    plate: Mapped[Line] = mapped_column(default="")
    colour: Mapped[Line] = mapped_column(default="")
    note: Mapped[Paragraph] = mapped_column(default="")
    search_text: Mapped[Paragraph] = mapped_column(default="")
    created_at: Mapped[datetime.datetime]
    version: Mapped[int] = mapped_column(default=1)

    __mapper_args__ = {"version_id_col": version}  # noqa: RUF012
