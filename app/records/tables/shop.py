"""The shop and its settings."""

import datetime

from sqlalchemy import CheckConstraint
from sqlalchemy.orm import Mapped, mapped_column

from app.records.tables.base import Base, Code, Line, Paragraph


class Shop(Base):
    """The one table without `shop_id`: its `id` is what all others carry."""

    __tablename__ = "shop"
    __table_args__ = (
        CheckConstraint(
            "confidence_threshold > 0.5 AND confidence_threshold < 1",
            name="confidence_threshold_range",
        ),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[Line]
    address: Mapped[Paragraph] = mapped_column(default="")
    phone: Mapped[Line] = mapped_column(default="")
    email: Mapped[Line] = mapped_column(default="")
    language: Mapped[Code] = mapped_column(default="en")
    time_zone: Mapped[Code] = mapped_column(default="UTC")
    """In which certificates tell days and times, wherever they are made."""
    confidence_threshold: Mapped[float] = mapped_column(default=0.95)
    """The probability c from which a verdict is given."""
    measurer_may_sign: Mapped[bool] = mapped_column(default=True)
    """Many shops are one person; a larger shop may ask for a second one."""
    claim_link_days: Mapped[int] = mapped_column(default=30)
    own_statement: Mapped[Paragraph] = mapped_column(default="")
    """What the shop itself states of its accreditation or standards; printed as its own words."""
    privacy_notice: Mapped[Paragraph] = mapped_column(default="")
    """The shop's own notice on personal data; empty: the one that the program knows."""
    created_at: Mapped[datetime.datetime]
    version: Mapped[int] = mapped_column(default=1)

    __mapper_args__ = {"version_id_col": version}  # noqa: RUF012
