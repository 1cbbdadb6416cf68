"""Certificates: may one be issued, issue it, read it, withdraw it, replace it.

A certificate is issued in three steps: a short write reserves its number (`issuing`); outside
any transaction the file is rendered, signed and verified; a second short write makes it `valid`
or, when it failed for good, `void` with the reason. So the register has no missing number.
"""

from datetime import datetime

from sqlalchemy import ColumnElement, func, or_
from sqlalchemy.orm import Session

from app.documents.content import CertificateContent
from app.errors import Conflict, Problem
from app.records.scope import scoped
from app.records.session import Database
from app.records.tables import Certificate
from app.services import audit
from app.services.certificate_case import gather
from app.services.certificate_reasons import reasons
from app.services.certificate_remarks import remarks_on
from app.services.issuing import heal, issue, replace
from app.services.job_search import Asked
from app.services.lookup import job_row
from app.services.passwords import PASSWORDS, Passwords
from app.services.permissions import Actor, require
from app.services.register import (
    CertificateView,
    FileView,
    Kind,
    Status,
    content_of,
    file_of,
    row_of,
    views_of,
)
from app.services.search import mark_in
from app.services.sign_in import confirm_password
from app.services.words import words

CertificateFile = FileView

__all__ = [
    "CertificateFile",
    "CertificateView",
    "Kind",
    "Status",
    "basis",
    "certificate",
    "certificate_content",
    "certificate_file",
    "certificates",
    "heal",
    "issue",
    "reasons_against",
    "remarks",
    "replace",
    "withdraw",
    "withdraw_in_person",
]


def reasons_against(
    session: Session, actor: Actor, job_number: str, kind: Kind, now: datetime
) -> tuple[Problem, ...]:
    """Every reason why this job's certificate cannot be issued now; empty when it can.

    Codes: `set_up_moved`, `orientation_not_checked`, `instrument_out_of_calibration`,
    `required_missing`, `no_reference_revision`, `signer_may_not_sign`, `no_survey`,
    `sent_back_unanswered`, `points_of_another_job`, `check_bar_out_of_control`,
    `instrument_left_handed`; for a completion also `finding_not_within`, `hold_open`,
    `datum_not_measured_again`, `corrected_since_measured`.
    Raises NotFound when there is no such job.
    """
    require(actor, "certificates.read")
    return reasons(gather(session, actor, job_number), actor, kind)


def basis(session: Session, actor: Actor, job_number: str) -> tuple[int | None, int | None]:
    """Numbers of the measurement that a certificate would certify, and of the one before it.

    Raises NotFound when there is no such job.
    """
    require(actor, "certificates.read")
    case = gather(session, actor, job_number)
    return (
        case.survey.number if case.survey else None,
        case.before.number if case.before else None,
    )


def remarks(
    session: Session, actor: Actor, job_number: str, kind: Kind, now: datetime
) -> tuple[Problem, ...]:
    """What the signer should look at first; none of it stands against issuing.

    Codes: `measured_before_received` (facts `number`, `measured`, `received`),
    `measured_in_future` (`number`, `measured`), `visual_check_incomplete` (`count`, `of`),
    `visual_check_before_correction` (`count`, `of`), `visual_check_contradicts_check_in`
    (`zones`), `straightened_though_forbidden`.
    They hold for both kinds. Raises NotFound when there is no such job.
    """
    require(actor, "certificates.read")
    return remarks_on(gather(session, actor, job_number), now)


def withdraw_in_person(
    database: Database,
    actor: Actor,
    number: str,
    reason: str,
    password: str,
    now: datetime,
    passwords: Passwords = PASSWORDS,
) -> CertificateView:
    """`withdraw` by somebody who shows with their password that it is still them, as for signing.

    Takes the Database itself, since passwords are checked outside of any session. Raises also
    BadInput (`wrong_password`), NotSignedIn for a token, TooManyTries.
    """
    require(actor, "certificates.withdraw")
    why = words(reason, "reason")
    with database.read() as session:
        refuse_unless_valid(row_of(session, actor, number))
    confirm_password(database, actor, password, now, "certificate.withdraw", passwords)
    with database.write() as session:
        return withdraw(session, actor, number, why, now)


def refuse_unless_valid(row: Certificate) -> None:
    """Raises Conflict `certificate_not_valid`."""
    if row.status != "valid":
        raise Conflict("certificate_not_valid", None, number=row.number, status=row.status)


def withdraw(
    session: Session, actor: Actor, number: str, reason: str, now: datetime
) -> CertificateView:
    """Withdraw a valid certificate; its file stays on record, its verify page says so.

    Raises NotFound, Conflict `certificate_not_valid`, BadInput for an empty reason.
    """
    require(actor, "certificates.withdraw")
    why = words(reason, "reason")
    row = row_of(session, actor, number)
    refuse_unless_valid(row)
    row.status, row.reason = "withdrawn", why
    row.ended_at, row.ended_by_id = now, actor.person_id
    session.flush()
    said: dict[str, audit.Value] = {"reason": why}
    audit.record(session, actor, "certificate.withdrawn", f"certificate:{number}", now, said)
    return views_of(session, actor, [row])[0]


def certificate(session: Session, actor: Actor, number: str) -> CertificateView:
    """One certificate. Raises NotFound."""
    require(actor, "certificates.read")
    return views_of(session, actor, [row_of(session, actor, number)])[0]


def certificate_content(session: Session, actor: Actor, number: str) -> CertificateContent:
    """What a certificate says, as it was printed. Raises NotFound."""
    require(actor, "certificates.read")
    return content_of(row_of(session, actor, number))


def certificates(
    session: Session, actor: Actor, job_number: str | None = None, text: str = ""
) -> tuple[CertificateView, ...]:
    """The register, newest first; of one job when `job_number` is given.

    text: searches the certificate's number, and the job as the list of the day does.
    """
    require(actor, "certificates.read")
    query = scoped(session, actor, Certificate)
    if job_number is not None:
        query = query.where(Certificate.job_id == job_row(session, actor, job_number).id)
    if text.strip():
        query = query.where(found_by(session, actor, text))
    rows = session.scalars(query.order_by(Certificate.id.desc())).all()
    return views_of(session, actor, rows)


def found_by(session: Session, actor: Actor, text: str) -> ColumnElement[bool]:
    """The condition that a certificate or its job is what is searched for."""
    of_jobs = Certificate.job_id.in_(Asked(session, actor, text, None).ids())
    sought = mark_in(text)
    if not sought:
        return of_jobs
    number = func.replace(func.lower(Certificate.number), "-", "")
    return or_(of_jobs, number.contains(sought, autoescape=True))


def certificate_file(session: Session, actor: Actor, number: str) -> CertificateFile:
    """The signed PDF.

    Raises NotFound; Conflict (`certificate_has_no_file`) while it is being issued, or void.
    """
    require(actor, "certificates.read")
    return file_of(session, actor, row_of(session, actor, number))
