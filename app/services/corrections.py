"""Corrections of a machine: noted, put right, and those that stand.

What was noted is kept; a note that puts another right stands in its place, and counts as of the
moment of the first: the machine was not worked on once more.
"""

from collections.abc import Iterable, Sequence
from datetime import date, datetime, timedelta
from typing import TypeVar

from sqlalchemy.orm import Session

from app.errors import BadInput, Conflict, Fact, NotFound, Problem
from app.records.scope import scoped
from app.records.tables import CorrectionNote, Job
from app.schemas.correction import CorrectionIn
from app.services import audit
from app.services.job_views import CorrectionView
from app.services.lookup import known, names, open_job
from app.services.permissions import Actor, require
from app.wording.moments import today

Row = TypeVar("Row", bound=CorrectionNote)


def note(
    session: Session, actor: Actor, number: str, sent: CorrectionIn, now: datetime
) -> CorrectionView:
    """Notes what was done to the machine, or puts an earlier note right. Where no day is named it
    was done on the day that it is noted, or on the day of the note that is put right.

    Raises NotFound `no_such_job`, `no_such_correction`; Conflict `job_closed`,
    `correction_put_right`; BadInput for a day that has not come or is before the machine came.
    """
    require(actor, "corrections.write")
    job = open_job(session, actor, number)
    _refuse_odd_day(job, sent.done_on, now)
    earlier = _to_put_right(session, actor, job, sent.supersedes)
    row = CorrectionNote(
        shop_id=actor.shop_id,
        job_id=job.id,
        supersedes_id=earlier.id if earlier else None,
        words=sent.text,
        part=sent.part or "",
        method=sent.method or "",
        instruction=sent.instruction or "",
        done_by=sent.done_by or "",
        done_on=sent.done_on or (earlier.done_on if earlier else today(now)),
        person_id=actor.person_id,
        at=now,
    )
    session.add(row)
    session.flush()
    what = "job.correction_put_right" if earlier else "job.correction_noted"
    audit.record(session, actor, what, f"job:{job.number}", now, _said(row))
    return next(one for one in of_job(session, actor, job) if one.id == row.id)


def of_job(session: Session, actor: Actor, job: Job) -> tuple[CorrectionView, ...]:
    """The corrections of a job that stand, in the order in which they were first noted."""
    rows = session.scalars(
        scoped(session, actor, CorrectionNote)
        .where(CorrectionNote.job_id == job.id)
        .order_by(CorrectionNote.id)
    ).all()
    people = names(session, actor, [row.person_id for row in rows])
    return tuple(
        CorrectionView(
            id=last.id,
            done_at=first.at,
            text=last.words,
            by=people.get(first.person_id),
            part=last.part or None,
            method=last.method or None,
            instruction=last.instruction or None,
            done_by=last.done_by or None,
            done_on=last.done_on,
            put_right_at=None if last is first else last.at,
        )
        for first, last in chains(rows)
    )


def chains(rows: Sequence[Row]) -> Iterable[tuple[Row, Row]]:
    """The first and the standing note of each correction; `rows` in the order of their ids."""
    heads: dict[int, tuple[Row, Row]] = {}
    for row in rows:
        first, _last = heads.pop(row.supersedes_id or 0, (row, row))
        heads[row.id] = (first, row)
    return sorted(heads.values(), key=lambda pair: pair[0].id)


def _to_put_right(
    session: Session, actor: Actor, job: Job, identity: int | None
) -> CorrectionNote | None:
    if identity is None:
        return None
    row = known(session, actor, CorrectionNote, identity)
    if row is None or row.job_id != job.id:
        raise NotFound("no_such_correction", None, met=identity)
    later = scoped(session, actor, CorrectionNote).where(CorrectionNote.supersedes_id == row.id)
    if session.scalars(later).first() is not None:
        raise Conflict("correction_put_right", None, job=job.number)
    return row


def _refuse_odd_day(job: Job, done_on: date | None, now: datetime) -> None:
    """A day that has not come anywhere on earth, or that was over before the machine came."""
    if done_on is None:
        return
    facts: dict[str, Fact] = {"met": done_on.isoformat()}
    if done_on > (now + timedelta(hours=14)).date():
        raise BadInput([Problem("correction_to_come", "done_on", facts)], "correction_to_come")
    if done_on < (job.received_at - timedelta(hours=14)).date():
        problem = Problem("corrected_before_received", "done_on", facts)
        raise BadInput([problem], "corrected_before_received")


def _said(row: CorrectionNote) -> dict[str, audit.Value]:
    """What the event says; only what was given."""
    said: dict[str, audit.Value] = {
        "words": row.words,
        "part": row.part,
        "method": row.method,
        "instruction": row.instruction,
        "done_by": row.done_by,
        "done_on": row.done_on.isoformat() if row.done_on else "",
        "supersedes": row.supersedes_id or "",
    }
    return {name: value for name, value in said.items() if value}
