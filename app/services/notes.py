"""Notes on a job, calls that somebody asked for, and calls that were made."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy.orm import Session

from app.records.scope import scoped
from app.records.tables import Job, JobNote
from app.schemas.note import CallIn, NoteIn
from app.services import audit, calls_due
from app.services.calls_due import CallDue
from app.services.job_facts import facts_of
from app.services.lookup import job_row, names, open_job
from app.services.permissions import Actor, require

EVENTS = {
    "note": "job.noted",
    "call_wanted": "job.call_wanted",
    "called": "job.called",
}


@dataclass(frozen=True, slots=True)
class NoteView:
    id: int
    kind: str
    """`note`, `call_wanted`, `called`."""
    whom: str | None
    """`customer` or `adjuster`, of a call."""
    outcome: str | None
    """`reached`, `message_left`, `not_reached`, of a call that was made."""
    words: str | None
    """None where nothing was said, or where it was erased."""
    at: datetime
    by: str | None


def add(session: Session, actor: Actor, number: str, note: NoteIn, now: datetime) -> NoteView:
    """Notes something; with `call` somebody is to be called about it.

    A closed job may still be noted on. Raises NotFound `no_such_job`; Conflict `job_closed` for a
    call that is asked for.
    """
    require(actor, "jobs.note")
    if note.call is None:
        job = job_row(session, actor, number)
        return _added(session, actor, job, "note", now, words=note.words)
    job = open_job(session, actor, number)
    return _added(session, actor, job, "call_wanted", now, whom=note.call, words=note.words)


def called(session: Session, actor: Actor, number: str, call: CallIn, now: datetime) -> NoteView:
    """Notes a call that was made. Raises NotFound `no_such_job`."""
    require(actor, "jobs.note")
    job = job_row(session, actor, number)
    return _added(
        session,
        actor,
        job,
        "called",
        now,
        whom=call.whom,
        outcome=call.outcome,
        words=call.words or "",
    )


def listing(session: Session, actor: Actor, number: str) -> tuple[NoteView, ...]:
    """All notes and calls of a job, newest first. Raises NotFound `no_such_job`."""
    require(actor, "jobs.read")
    job = job_row(session, actor, number)
    rows = scoped(session, actor, JobNote).where(JobNote.job_id == job.id)
    return _views(session, actor, session.scalars(rows.order_by(JobNote.id.desc())).all())


def calls_of(session: Session, actor: Actor, number: str, on: date) -> tuple[CallDue, ...]:
    """Who must be called about this job. Raises NotFound `no_such_job`."""
    require(actor, "jobs.read")
    job = job_row(session, actor, number)
    return calls_due.due(facts_of(session, actor, [job])[job.id], on)


def _added(
    session: Session,
    actor: Actor,
    job: Job,
    kind: str,
    now: datetime,
    *,
    whom: str = "",
    outcome: str = "",
    words: str = "",
) -> NoteView:
    row = JobNote(
        shop_id=actor.shop_id,
        job_id=job.id,
        kind=kind,
        whom=whom,
        outcome=outcome,
        words=words,
        person_id=actor.person_id,
        at=now,
    )
    session.add(row)
    session.flush()
    public = {name: value for name, value in (("whom", whom), ("outcome", outcome)) if value}
    kept = {"words": words} if words else {}
    about = f"customer:{job.customer_id}"
    audit.record(session, actor, EVENTS[kind], f"job:{job.number}", now, public, kept, about)
    return _views(session, actor, [row])[0]


def _views(session: Session, actor: Actor, rows: Sequence[JobNote]) -> tuple[NoteView, ...]:
    people = names(session, actor, [row.person_id for row in rows])
    return tuple(
        NoteView(
            id=row.id,
            kind=row.kind,
            whom=row.whom or None,
            outcome=row.outcome or None,
            words=row.words or None,
            at=row.at,
            by=people.get(row.person_id),
        )
        for row in rows
    )
