"""The register of certificates, and their files."""

import datetime

from sqlalchemy import UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from app.records.tables.base import Code, Document, Line, Paragraph, ShopRecord, link, one_of

KINDS = ("report", "completion")
STATUSES = ("issuing", "valid", "superseded", "withdrawn", "void")


class Certificate(ShopRecord):
    """One line of the register; what it says is fixed once written, only its status moves."""

    __tablename__ = "certificate"
    __table_args__ = (
        UniqueConstraint("shop_id", "number"),
        one_of("kind", *KINDS),
        one_of("status", *STATUSES),
    )
    fixed = frozenset(
        {
            "number", "job_id", "kind", "survey_id", "result_id", "before_result_id",
            "reference_revision_id", "replaces_id", "content", "content_sha256", "sha256",
            "signer_fingerprint", "time_stamp", "signed_by_id", "reserved_at", "issued_at",
            "ended_at", "ended_by_id", "reason",
        }
    )  # fmt: skip

    number: Mapped[Code]
    job_id: Mapped[int] = link("job")
    kind: Mapped[Code]
    status: Mapped[Code] = mapped_column(default="issuing")
    survey_id: Mapped[int | None] = link("survey")
    result_id: Mapped[int | None] = link("result")
    before_result_id: Mapped[int | None] = link("result")
    reference_revision_id: Mapped[int | None] = link("reference_revision")
    replaces_id: Mapped[int | None] = link("certificate")
    content: Mapped[Document | None]
    """JSON of all that the certificate says."""
    content_sha256: Mapped[Code | None]
    sha256: Mapped[Code | None]
    """Digest of the signed PDF."""
    signer_fingerprint: Mapped[Code | None]
    signer_name: Mapped[Line | None]
    time_stamp: Mapped[Code | None]
    """`stamped`, `unreachable` (signed without, as the shop had chosen); None: none was asked."""
    signed_by_id: Mapped[int | None] = link("person")
    reserved_at: Mapped[datetime.datetime]
    issued_at: Mapped[datetime.datetime | None]
    ended_at: Mapped[datetime.datetime | None]
    """When it was superseded, withdrawn or made void."""
    ended_by_id: Mapped[int | None] = link("person")
    reason: Mapped[Paragraph | None]
    """Why it was withdrawn, superseded or made void."""
    version: Mapped[int] = mapped_column(default=1)

    __mapper_args__ = {"version_id_col": version}  # noqa: RUF012


class CertificateFile(ShopRecord):
    """The signed PDF itself, in the database so that a backup is one file."""

    __tablename__ = "certificate_file"
    append_only = True

    certificate_id: Mapped[int] = link("certificate", unique=True, index=False)
    media_type: Mapped[Code] = mapped_column(default="application/pdf")
    sha256: Mapped[Code] = mapped_column(index=True)
    content: Mapped[bytes]
