"""The inspector sends a job back with a reason; a new measurement or an answer clears it."""

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from app.errors import Conflict
from app.records.scope import scoped
from app.records.tables import Job, JobEntry
from app.services.job_facts import ANSWERED, SENT_BACK, facts_of
from app.services.jobs import JobView, enter, tell
from app.services.jobs import read as read_job
from app.services.lookup import job_row, names, open_job
from app.services.permissions import Actor, require
from app.services.road import is_certified
from app.services.road_facts import Facts, SentBack
from app.services.words import words


@dataclass(frozen=True, slots=True)
class Exchange:
    """One sending back, or one answer to it."""

    kind: str
    """`sent_back` or `answered`."""
    words: str
    at: datetime
    by: str | None


def send_back(session: Session, actor: Actor, number: str, reason: str, now: datetime) -> JobView:
    """The job waits for the technician again, who is told why.

    Raises NotFound; BadInput; Conflict `job_closed`, `nothing_to_send_back`, `certified_already`,
    `sent_back_already`.
    """
    require(actor, "jobs.send_back")
    why = words(reason, "reason")
    job = open_job(session, actor, number)
    facts = _facts(session, actor, job)
    if not facts.surveys:
        raise Conflict("nothing_to_send_back", None, job=number)
    if is_certified(facts):
        raise Conflict("certified_already", None, job=number)
    if facts.sent_back is not None:
        raise Conflict("sent_back_already", None, job=number)
    enter(session, actor, job, SENT_BACK, now, why)
    tell(session, actor, job, "job.sent_back", now, {"reason": why})
    return read_job(session, actor, number)


def answer(session: Session, actor: Actor, number: str, text: str, now: datetime) -> JobView:
    """What the inspector asked is answered in words; the job waits for the inspector again.

    Raises NotFound; BadInput; Conflict `job_closed`, `not_sent_back`.
    """
    require(actor, "jobs.answer")
    said = words(text, "answer")
    job = open_job(session, actor, number)
    if _facts(session, actor, job).sent_back is None:
        raise Conflict("not_sent_back", None, job=number)
    enter(session, actor, job, ANSWERED, now, said)
    tell(session, actor, job, "job.answered", now, {"words": said})
    return read_job(session, actor, number)


def exchanges(session: Session, actor: Actor, number: str) -> tuple[Exchange, ...]:
    """Every reason and answer of a job, in their order. Raises NotFound."""
    require(actor, "jobs.read")
    job = job_row(session, actor, number)
    found = scoped(session, actor, JobEntry).where(
        JobEntry.job_id == job.id, JobEntry.kind.in_((SENT_BACK, ANSWERED))
    )
    rows = session.scalars(found.order_by(JobEntry.id)).all()
    people = names(session, actor, [row.person_id for row in rows])
    return tuple(Exchange(row.kind, row.words, row.at, people.get(row.person_id)) for row in rows)


def standing(session: Session, actor: Actor, number: str) -> SentBack | None:
    """Why the job is sent back now; None when it is not. Cheap where it never was.

    Raises NotFound.
    """
    require(actor, "jobs.read")
    job = job_row(session, actor, number)
    found = scoped(session, actor, JobEntry).where(
        JobEntry.job_id == job.id, JobEntry.kind.in_((SENT_BACK, ANSWERED))
    )
    newest = session.scalars(found.order_by(JobEntry.id.desc()).limit(1)).one_or_none()
    if newest is None or newest.kind == ANSWERED:
        return None
    return _facts(session, actor, job).sent_back


def _facts(session: Session, actor: Actor, job: Job) -> Facts:
    return facts_of(session, actor, [job])[job.id]
