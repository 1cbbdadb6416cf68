"""Insurers, their claims, and the links by which an adjuster looks in without signing in."""

import datetime

from sqlalchemy import CheckConstraint
from sqlalchemy.orm import Mapped, mapped_column

from app.records.tables.base import Code, Line, Paragraph, ShopRecord, link


class Insurer(ShopRecord):
    __tablename__ = "insurer"

    name: Mapped[Line]
    address: Mapped[Paragraph] = mapped_column(default="")
    phone: Mapped[Line] = mapped_column(default="")
    email: Mapped[Line] = mapped_column(default="")
    search_text: Mapped[Paragraph] = mapped_column(default="")
    created_at: Mapped[datetime.datetime]
    version: Mapped[int] = mapped_column(default=1)

    __mapper_args__ = {"version_id_col": version}  # noqa: RUF012


class Claim(ShopRecord):
    __tablename__ = "claim"

    insurer_id: Mapped[int | None] = link("insurer")
    claim_number: Mapped[Line] = mapped_column(default="")
    policy_number: Mapped[Line] = mapped_column(default="")
    adjuster: Mapped[Line] = mapped_column(default="")
    adjuster_phone: Mapped[Line] = mapped_column(default="")
    adjuster_email: Mapped[Line] = mapped_column(default="")
    note: Mapped[Paragraph] = mapped_column(default="")
    search_text: Mapped[Paragraph] = mapped_column(default="")
    created_at: Mapped[datetime.datetime]
    version: Mapped[int] = mapped_column(default=1)

    __mapper_args__ = {"version_id_col": version}  # noqa: RUF012


class ClaimLink(ShopRecord):
    """An address that opens one job's claim view, or the list of an insurer's claims; only the
    digest of its token is kept."""

    __tablename__ = "claim_link"
    __table_args__ = (CheckConstraint("(job_id IS NULL) <> (insurer_id IS NULL)", name="of_one"),)
    fixed = frozenset({"job_id", "insurer_id", "token_hash", "created_at", "revoked_at"})

    job_id: Mapped[int | None] = link("job")
    certificate_id: Mapped[int | None] = link("certificate")
    """The one certificate it shows; none: the job's newest."""
    token_hash: Mapped[Code] = mapped_column(unique=True)
    hint: Mapped[Code]
    recipient: Mapped[Line] = mapped_column(default="")
    created_by_id: Mapped[int | None] = link("person")
    created_at: Mapped[datetime.datetime]
    expires_at: Mapped[datetime.datetime]
    revoked_at: Mapped[datetime.datetime | None]
    revoked_by_id: Mapped[int | None] = link("person")
    insurer_id: Mapped[int | None] = link("insurer")
    """Whose claims it lists, where it is not a link to one job."""


class ClaimAccess(ShopRecord):
    """One use of a claim link. Deletable: addresses of outsiders are kept only for a while."""

    __tablename__ = "claim_access"
    deletable = True

    claim_link_id: Mapped[int] = link("claim_link")
    at: Mapped[datetime.datetime]
    what: Mapped[Code]
    """`listed`, `viewed`, `photo`, `downloaded`, `data`, `bundle`, `refused`."""
    address: Mapped[Line] = mapped_column(default="")
    """Cut short, so that it names a network and not one machine in it."""
    user_agent: Mapped[Line] = mapped_column(default="")
    subject: Mapped[Code] = mapped_column(default="")
    """Number of the job or certificate, or the photo, that was asked for."""
