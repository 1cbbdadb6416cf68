"""Jobs: where a machine's visit stands, read from its records and never typed in."""

from datetime import datetime

from sqlalchemy.orm import Session

from app.errors import Conflict
from app.records.tables import Draft, Job, JobEntry, Survey
from app.schemas.correction import CorrectionIn
from app.services import audit, calibrating, corrections
from app.services.instruments import usable_instrument
from app.services.job_facts import INSTRUMENT_CHOSEN, REFERENCE_FIXED
from app.services.job_reading import HANDED_OVER, RECIPIENT, view
from app.services.job_views import (
    CertificateLine,
    ClaimView,
    CorrectionView,
    DraftLine,
    IncidentView,
    JobView,
    SurveyLine,
)
from app.services.lookup import closing_entry, count, job_row, open_job
from app.services.permissions import Actor, require
from app.services.references import revision_row
from app.services.road import STATUSES, STEPS, Step
from app.services.words import line, words

__all__ = [
    "STATUSES", "STEPS", "CertificateLine", "ClaimView", "CorrectionView", "DraftLine",
    "IncidentView", "JobView", "Step", "SurveyLine",
]  # fmt: skip


def read(session: Session, actor: Actor, number: str) -> JobView:
    """One job by its number. Raises NotFound `no_such_job`."""
    require(actor, "jobs.read")
    return view(session, actor, job_row(session, actor, number))


def fix_reference(
    session: Session,
    actor: Actor,
    number: str,
    reference_id: int,
    now: datetime,
    revision: int | None = None,
    because: str = "",
) -> JobView:
    """Fixes the reference revision (the latest unless told) that the job is judged against.

    `because`: why it is one of another machine. From then on that revision never changes. Raises
    NotFound, Conflict `job_closed`, `reference_in_use` once a survey was judged by another one.
    """
    require(actor, "jobs.choose_reference")
    job = open_job(session, actor, number)
    row = revision_row(session, actor, reference_id, revision)
    if row.id == job.reference_revision_id:
        return view(session, actor, job)
    if count(
        session, actor, Survey, Survey.job_id == job.id, Survey.reference_revision_id.is_not(None)
    ):
        raise Conflict("reference_in_use", None, job=number)
    job.reference_revision_id = row.id
    row.frozen_at = row.frozen_at or now
    enter(session, actor, job, REFERENCE_FIXED, now, because)
    said: dict[str, audit.Value] = {"reference": reference_id, "revision": row.revision}
    personal = {"reason": because} if because else {}
    about = f"customer:{job.customer_id}"
    audit.record(session, actor, "job.reference_fixed", mark(job), now, said, personal, about)
    return view(session, actor, job)


def fix_instrument(
    session: Session, actor: Actor, number: str, instrument_id: int, now: datetime
) -> JobView:
    """Chooses the instrument for the job's next surveys.

    Raises NotFound, Conflict `job_closed`, `instrument_retired`. An instrument out of calibration
    is taken (its survey is stored and cannot be certified).
    """
    require(actor, "jobs.choose_reference")
    job = open_job(session, actor, number)
    row = usable_instrument(session, actor, instrument_id)
    if row.id == job.instrument_id:
        return view(session, actor, job)
    job.instrument_id = row.id
    enter(session, actor, job, INSTRUMENT_CHOSEN, now)
    calibrating.look_again(session, actor, row)
    said: dict[str, audit.Value] = {"instrument": row.id}
    audit.record(session, actor, "job.instrument_chosen", mark(job), now, said)
    return view(session, actor, job)


def note_correction(
    session: Session, actor: Actor, number: str, text: str, now: datetime
) -> JobView:
    """Notes in words alone what was done to the machine; `corrections.note` takes more.

    Raises NotFound, Conflict `job_closed`, BadInput.
    """
    require(actor, "corrections.write")
    said = CorrectionIn(text=words(text, "text"))
    corrections.note(session, actor, number, said, now)
    return read(session, actor, number)


def cancel(session: Session, actor: Actor, number: str, reason: str, now: datetime) -> JobView:
    """Ends a job without a certificate. Raises NotFound, Conflict `job_closed`, BadInput."""
    require(actor, "jobs.cancel")
    why = words(reason, "reason")
    job = open_job(session, actor, number)
    enter(session, actor, job, "cancelled", now, why)
    tell(session, actor, job, "job.cancelled", now, {"reason": why})
    return view(session, actor, job)


def reopen(session: Session, actor: Actor, number: str, reason: str, now: datetime) -> JobView:
    """Opens a job again that was cancelled or handed over by mistake.

    Raises NotFound, Conflict `job_not_closed`, BadInput.
    """
    require(actor, "jobs.cancel")
    why = words(reason, "reason")
    job = job_row(session, actor, number)
    if closing_entry(session, actor, job) is None:
        raise Conflict("job_not_closed", None, job=number)
    enter(session, actor, job, "reopened", now, why)
    tell(session, actor, job, "job.reopened", now, {"reason": why})
    return view(session, actor, job)


def hand_over(
    session: Session, actor: Actor, number: str, handed_over_to: str, now: datetime
) -> JobView:
    """The machine leaves the shop.

    Raises NotFound, BadInput, Conflict `job_closed`, `draft_still_open`. A job without
    certificate may be handed over: the customer may fetch the machine at any time.
    """
    require(actor, "jobs.hand_over")
    recipient = line(handed_over_to, "handed_over_to")
    job = open_job(session, actor, number)
    if count(session, actor, Draft, Draft.job_id == job.id, Draft.closed_at.is_(None)):
        raise Conflict("draft_still_open", None, job=number)
    enter(session, actor, job, "handed_over", now)
    tell(session, actor, job, HANDED_OVER, now, {RECIPIENT: recipient})
    return view(session, actor, job)


def mark(job: Job) -> str:
    """How events name the job."""
    return f"job:{job.number}"


def tell(
    session: Session, actor: Actor, job: Job, what: str, now: datetime, said: dict[str, audit.Value]
) -> None:
    """Add an event with words that may speak of the customer: they go when the customer asks."""
    about = f"customer:{job.customer_id}"
    audit.record(session, actor, what, mark(job), now, personal=said, about=about)


def enter(
    session: Session, actor: Actor, job: Job, kind: str, now: datetime, said: str = ""
) -> None:
    """Add an entry of this kind to the job, from which its status is worked out."""
    session.add(
        JobEntry(
            shop_id=actor.shop_id,
            job_id=job.id,
            kind=kind,
            words=said,
            person_id=actor.person_id,
            at=now,
        )
    )
    session.flush()
