"""Notes on a job, calls that somebody asked for, and calls that were made."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy.orm import Session

from app.errors import Conflict, NotFound, Problem
from app.records.scope import scoped
from app.records.tables import Customer, Job, JobNote
from app.schemas.note import CallIn, NoteIn
from app.schemas.problems import refused
from app.services import audit, calls_due
from app.services.calls_due import CallDue
from app.services.job_facts import facts_of
from app.services.lookup import by_id, job_row, known, names, open_job, require_job_open
from app.services.permissions import Actor, require
from app.wording import moments

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
    promised_on: date | None = None
    """The day that was promised in a call, also where it stays the one that stood."""
    promised_before: date | None = None


@dataclass(frozen=True, slots=True)
class JustCalled:
    """A call that the person noted themselves, to be told and taken back where it was wrong."""

    number: str
    customer_name: str | None
    note: NoteView


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
        if call.promised_on is not None and job.promised_on == call.promised_on:
            job.promised_on = call.promised_before
        return _added(session, actor, job, "note", now, words=note.words, takes_back=call.id)
    if note.call is None:
        job = job_row(session, actor, number)
        return _added(session, actor, job, "note", now, words=note.words)
    job = open_job(session, actor, number)
    return _added(session, actor, job, "call_wanted", now, whom=note.call, words=note.words)


def called(session: Session, actor: Actor, number: str, call: CallIn, now: datetime) -> NoteView:
    """Notes a call that was made, what was said, and the day that was promised in it.

    Raises NotFound `no_such_job`; BadInput `said_missing`, `new_day_missing`, `in_the_past`;
    Conflict `job_closed` for a promise on a closed job.
    """
    require(actor, "jobs.note")
    job = job_row(session, actor, number)
    reached = call.outcome == "reached"
    problems = list(_call_problems(session, actor, job, call, now))
    if problems:
        raise refused(problems)
    before = job.promised_on
    promised = (before if call.promise_stands else call.promised_on) if reached else None
    if promised is not None and promised != before:
        require_job_open(session, actor, job)
        job.promised_on = promised
    return _added(
        session,
        actor,
        job,
        "called",
        now,
        whom=call.whom,
        outcome=call.outcome,
        words=call.words or "",
        promised=(promised, before if promised is not None else None),
    )


def _call_problems(
    session: Session, actor: Actor, job: Job, call: CallIn, now: datetime
) -> Iterator[Problem]:
    """What is missing of a call that reached somebody."""
    if call.outcome != "reached":
        return
    if not call.words:
        yield Problem("said_missing", "words")
    today = moments.today(now)
    if call.promised_on is not None and call.promise_stands:
        yield Problem("new_day_or_stands", "promised_on")
    elif call.promised_on is not None and call.promised_on < today:
        yield Problem("in_the_past", "promised_on", {"met": call.promised_on.isoformat()})
    elif call.promised_on is None and not call.promise_stands and call.whom == "customer":
        facts = facts_of(session, actor, [job])[job.id]
        reasons = [one.code for due in calls_due.due(facts, today) for one in due.reasons]
        if "late" in reasons and job.promised_on is not None:
            met = {"met": moments.day(job.promised_on)}
            yield Problem("new_day_missing", "promised_on", met)


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


def just_called(
    session: Session, actor: Actor, identity: int, since: datetime
) -> JustCalled | None:
    """The call with this id, where the person noted it after this moment and it counts."""
    require(actor, "jobs.read")
    row = known(session, actor, JobNote, identity)
    if row is None or row.kind != "called" or row.at < since or row.person_id != actor.person_id:
        return None
    later = scoped(session, actor, JobNote).where(JobNote.takes_back_id == row.id)
    if session.scalars(later).first() is not None:
        return None
    job = by_id(session, actor, Job, row.job_id, "no_such_job")
    customer = by_id(session, actor, Customer, job.customer_id, "no_such_customer")
    return JustCalled(job.number, customer.name or None, _views(session, actor, [row])[0])


def calls_of(session: Session, actor: Actor, number: str, on: date) -> tuple[CallDue, ...]:
    """Who must be called about this job; a customer who was erased can be called no more. Raises
    NotFound `no_such_job`."""
    require(actor, "jobs.read")
    job = job_row(session, actor, number)
    due = calls_due.due(facts_of(session, actor, [job])[job.id], on)
    customer = by_id(session, actor, Customer, job.customer_id, "no_such_customer")
    return tuple(one for one in due if one.whom != "customer" or customer.erased_at is None)


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
    promised: tuple[date | None, date | None] = (None, None),
) -> NoteView:
    row = JobNote(
        shop_id=actor.shop_id,
        job_id=job.id,
        kind=kind,
        whom=whom,
        outcome=outcome,
        words=words,
        takes_back_id=takes_back,
        promised_on=promised[0],
        promised_before=promised[1],
        person_id=actor.person_id,
        at=now,
    )
    session.add(row)
    session.flush()
    days = [one.isoformat() if one else None for one in promised]
    said = (
        ("whom", whom),
        ("outcome", outcome),
        ("takes_back", takes_back),
        ("promised_on", days[0]),
        ("promised_before", days[1]),
    )
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
            promised_on=row.promised_on,
            promised_before=row.promised_before,
        )
        for row in rows
    )
