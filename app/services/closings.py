"""How a job was closed and opened again: cancelled, handed over, and what was given back then."""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from app.errors import NotFound
from app.records.scope import scoped
from app.records.tables import Event, Job, JobEntry, PersonalValue
from app.services.job_reading import LEFT, RECIPIENT
from app.services.lookup import CLOSING, GIVEN_BACK, HANDED_OVER, job_row, names
from app.services.permissions import Actor, require


@dataclass(frozen=True, slots=True)
class Closing:
    """A job closed, or opened again."""

    kind: str
    """`cancelled`, `handed_over`, `given_back` (the machine of a cancelled job), `reopened`."""
    at: datetime
    by: str | None
    words: str | None
    """Why; of handing over why something stays. None where nothing was said, or it was erased."""
    to: str | None
    """Who took the machine."""
    given_back: tuple[str, ...]
    kept_here: tuple[str, ...]
    told: bool | None
    """That whoever fetched it was told what is open; None: nobody was asked."""


def of_job(session: Session, actor: Actor, number: str) -> tuple[Closing, ...]:
    """All of them, the newest first. Raises NotFound `no_such_job`."""
    require(actor, "jobs.read")
    job = job_row(session, actor, number)
    rows = scoped(session, actor, JobEntry).where(
        JobEntry.job_id == job.id, JobEntry.kind.in_(CLOSING)
    )
    found = session.scalars(rows.order_by(JobEntry.id.desc())).all()
    people = names(session, actor, [row.person_id for row in found])
    takers = _takers(session, actor, job, found)
    return tuple(_closing(row, people.get(row.person_id), takers.get(row.at)) for row in found)


def left(session: Session, actor: Actor, number: str) -> Closing:
    """How the machine left last. Raises NotFound `no_such_job`, `not_handed_over`."""
    for one in of_job(session, actor, number):
        if one.kind in (HANDED_OVER, GIVEN_BACK):
            return one
    raise NotFound("not_handed_over", None, job=number)


def _closing(row: JobEntry, by: str | None, to: str | None) -> Closing:
    return Closing(
        kind=row.kind,
        at=row.at,
        by=by,
        words=row.words or None,
        to=to,
        given_back=tuple(row.given_back.splitlines()),
        kept_here=tuple(row.kept_here.splitlines()),
        told=row.told,
    )


def _takers(
    session: Session, actor: Actor, job: Job, rows: Sequence[JobEntry]
) -> dict[datetime, str]:
    """Who took the machine, by the moment: names lie with the events, where they can be erased."""
    if not any(row.kind in (HANDED_OVER, GIVEN_BACK) for row in rows):
        return {}
    found = (
        scoped(session, actor, PersonalValue)
        .join(Event, Event.id == PersonalValue.event_id)
        .where(
            Event.what == LEFT,
            Event.subject == f"job:{job.number}",
            PersonalValue.name == RECIPIENT,
        )
    )
    values = {one.event_id: one.value for one in session.scalars(found)}
    events = scoped(session, actor, Event).where(Event.id.in_(values))
    told = {one.at: values[one.id] for one in session.scalars(events)}
    return {at: str(json.loads(value)) for at, value in told.items() if value is not None}
