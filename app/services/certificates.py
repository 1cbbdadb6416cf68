"""Certificates: may one be issued, issue it, read it, withdraw it, replace it.

A certificate is issued in three steps: a short write reserves its number (`issuing`); outside
any transaction the file is rendered, signed and verified; a second short write makes it `valid`
or, when it failed for good, `void` with the reason. So the register has no missing number.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Literal

from app.errors import Problem

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from app.records.session import Database
    from app.services.permissions import Actor
    from app.services.press import Press

Kind = Literal["report", "completion"]
Status = Literal["issuing", "valid", "superseded", "withdrawn", "void"]


@dataclass(frozen=True, slots=True)
class CertificateView:
    """One line of the register. Codes and times; the words are made by `wording`."""

    number: str
    kind: Kind
    status: Status
    job_number: str
    machine: str
    """Make and model with the frame number, as printed."""
    finding: str
    """Verdict code of the overall finding, as certified."""
    reserved_at: datetime
    issued_at: datetime | None
    """None until it is `valid`."""
    signed_by: str
    pdf_sha256: str | None
    data_sha256: str | None
    """Of the canonical JSON of its content."""
    replaces: str | None
    replaced_by: str | None
    status_reason: str | None
    """Why it is withdrawn, superseded or void."""
    status_since: datetime


@dataclass(frozen=True, slots=True)
class CertificateFile:
    """The signed file as it is on record."""

    number: str
    filename: str
    pdf: bytes
    pdf_sha256: str


def reasons_against(
    session: Session, actor: Actor, job_number: str, kind: Kind, now: datetime
) -> tuple[Problem, ...]:
    """Every reason why this job's certificate cannot be issued now; empty when it can.

    Codes: `set_up_moved`, `orientation_not_checked`, `instrument_out_of_calibration`,
    `required_missing`, `no_reference_revision`, `signer_may_not_sign`, `no_survey`; for a
    completion also `finding_not_within`, `hold_open`, `datum_not_measured_again`.
    Raises NotFound when there is no such job.
    """
    raise NotImplementedError


def issue(
    database: Database,
    actor: Actor,
    job_number: str,
    kind: Kind,
    password: str | None,
    now: datetime,
    *,
    press: Press,
    key_password: str | None = None,
    replaces: str | None = None,
    reason: str | None = None,
) -> CertificateView:
    """Issue the job's certificate and return its line of the register, `valid`.

    password: the signer's own, asked again at this step; None only for a bearer token.
    key_password: that of the signing key once the owner has set one; else it lies in the
    data folder. replaces: number of the certificate that this one corrects, with the reason.
    Takes the Database itself, since the file is made between two transactions: call it
    outside of any session, in a worker thread.
    Raises RefusedToIssue with every reason; NotAllowed (`wrong_password`); Unavailable
    (`pdf_needs_pango`, `render_refused`, `signing_failed`), after which the number is `void`.
    """
    raise NotImplementedError


def replace(
    database: Database,
    actor: Actor,
    number: str,
    kind: Kind,
    password: str | None,
    reason: str,
    now: datetime,
    *,
    press: Press,
    key_password: str | None = None,
) -> CertificateView:
    """Issue a new certificate from the job's present records; `number` becomes `superseded`.

    The new one names the old one, the SHA-256 of its file and the reason.
    """
    raise NotImplementedError


def withdraw(
    session: Session, actor: Actor, number: str, reason: str, now: datetime
) -> CertificateView:
    """Withdraw a valid certificate; its file stays on record, its verify page says so."""
    raise NotImplementedError


def certificate(session: Session, actor: Actor, number: str) -> CertificateView:
    """One certificate. Raises NotFound."""
    raise NotImplementedError


def certificates(
    session: Session, actor: Actor, job_number: str | None = None
) -> tuple[CertificateView, ...]:
    """The register, newest first; of one job when `job_number` is given."""
    raise NotImplementedError


def certificate_file(session: Session, actor: Actor, number: str) -> CertificateFile:
    """The signed PDF. Raises NotFound; Conflict (`certificate_has_no_file`) while issuing or void."""
    raise NotImplementedError


def heal(database: Database, now: datetime, *, press: Press) -> tuple[str, ...]:
    """At start: every number left `issuing` by a crash becomes `void`; returns those numbers."""
    raise NotImplementedError
