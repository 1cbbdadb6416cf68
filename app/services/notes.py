"""Notes on a job, calls that somebody asked for, and calls that were made."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy.orm import Session

from app.errors import Conflict, NotFound
from app.records.scope import scoped
from app.records.tables import Job, JobNote
from app.schemas.note import CallIn, NoteIn
from app.services import audit, calls_due
from app.services.calls_due import CallDue
from app.services.job_facts import facts_of
from app.services.lookup import job_row, known, names, open_job
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
    takes_back: int | None = None
    """Id of the call that this note takes back."""
    taken_back: bool = False
    """It was noted by mistake, as a later note says: it counts no more."""


def add(session: Session, actor: Actor, number: str, note: NoteIn, now: datetime) -> NoteView:
    """Notes something; with `call` somebody is to be called about it, with `takes_back` a call
    that was noted by mistake counts no more.

    A closed job may still be noted on. Raises NotFound `no_such_job`, `no_such_call`; Conflict
    `job_closed` for a call that is asked for or taken back, `call_taken_back`.
    """
    require(actor, "jobs.note")
    if note.takes_back is not None:
        job = open_job(session, actor, number)
        call = _to_take_back(session, actor, job, note.takes_back)
        return _added(session, actor, job, "note", now, words=note.words, takes_back=call.id)
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


def _to_take_back(session: Session, actor: Actor, job: Job, identity: int) -> JobNote:
    row = known(session, actor, JobNote, identity)
    if row is None or row.job_id != job.id or not row.whom:
        raise NotFound("no_such_call", None, met=identity)
    later = scoped(session, actor, JobNote).where(JobNote.takes_back_id == row.id)
    if session.scalars(later).first() is not None:
        raise Conflict("call_taken_back", None, job=job.number)
    return row


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
    takes_back: int | None = None,
) -> NoteView:
    row = JobNote(
        shop_id=actor.shop_id,
        job_id=job.id,
        kind=kind,
        whom=whom,
        outcome=outcome,
        words=words,
        takes_back_id=takes_back,
        person_id=actor.person_id,
        at=now,
    )
    session.add(row)
    session.flush()
    said = (("whom", whom), ("outcome", outcome), ("takes_back", takes_back))
    public = {name: value for name, value in said if value}
    kept = {"words": words} if words else {}
    about = f"customer:{job.customer_id}"
    audit.record(session, actor, EVENTS[kind], f"job:{job.number}", now, public, kept, about)
    return _views(session, actor, [row])[0]


def _views(session: Session, actor: Actor, rows: Sequence[JobNote]) -> tuple[NoteView, ...]:
    people = names(session, actor, [row.person_id for row in rows])
    taken_back = {row.takes_back_id for row in rows}
    return tuple(
        NoteView(
            id=row.id,
            kind=row.kind,
            whom=row.whom or None,
            outcome=row.outcome or None,
            words=row.words or None,
            at=row.at,
            by=people.get(row.person_id),
            takes_back=row.takes_back_id,
            taken_back=row.id in taken_back,
        )
        for row in rows
    )
