"""References of models and their revisions."""

import datetime

from sqlalchemy import UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from app.records.tables.base import Code, Document, Line, Paragraph, ShopRecord, link


class Reference(ShopRecord):
    __tablename__ = "reference"

    make: Mapped[Line]
    model: Mapped[Line]
    years: Mapped[Line] = mapped_column(default="")
    note: Mapped[Paragraph] = mapped_column(default="")
    search_text: Mapped[Paragraph] = mapped_column(default="")
    created_at: Mapped[datetime.datetime]
    retired_at: Mapped[datetime.datetime | None]
    version: Mapped[int] = mapped_column(default=1)

    __mapper_args__ = {"version_id_col": version}  # noqa: RUF012


class ReferenceRevision(ShopRecord):
    """One state of a reference. From its first use on (`frozen_at`) nothing in it changes."""

    __tablename__ = "reference_revision"
    __table_args__ = (UniqueConstraint("reference_id", "revision"),)
    fixed = frozenset(
        {
            "reference_id", "revision", "document", "document_sha256", "provenance_kind",
            "provenance_detail", "note", "created_at", "frozen_at",
        }
    )  # fmt: skip
    fixed_from = "frozen_at"

    reference_id: Mapped[int] = link("reference")
    revision: Mapped[int]
    document: Mapped[Document]
    """The `jigbook.reference/1` text."""
    document_sha256: Mapped[Code]
    provenance_kind: Mapped[Code] = mapped_column(default="")
    provenance_detail: Mapped[Paragraph] = mapped_column(default="")
    note: Mapped[Paragraph] = mapped_column(default="")
    created_by_id: Mapped[int | None] = link("person")
    created_at: Mapped[datetime.datetime]
    frozen_at: Mapped[datetime.datetime | None]
