"""Finding the shop's rows by the numbers that people and pages use, or saying there are none."""

from collections.abc import Iterable
from typing import TypeVar

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from app.errors import Conflict, NotFound
from app.records.scope import OfShop, scoped
from app.records.tables import Job, JobEntry, Person, ShopRecord
from app.services.permissions import Actor

Row = TypeVar("Row", bound=ShopRecord)

LARGEST_ID = 2**31 - 1
REOPENED = "reopened"
CANCELLED, HANDED_OVER, GIVEN_BACK = "cancelled", "handed_over", "given_back"
CLOSING = (CANCELLED, HANDED_OVER, GIVEN_BACK, REOPENED)
"""Entries that close a job or open it again; the newest of them counts. A cancelled job stays
cancelled when its machine is given back."""


def known(session: Session, actor: Actor, model: type[Row], identity: int | None) -> Row | None:
    """The shop's row with this id, or None."""
    # A larger one cannot be an id, and some databases would not take it.
    if identity is None or not 0 < identity <= LARGEST_ID:
        return None
    return session.scalars(scoped(session, actor, model).where(model.id == identity)).one_or_none()


def by_id(session: Session, actor: Actor, model: type[Row], identity: int, code: str) -> Row:
    """The shop's row with this id. Raises NotFound with `code`."""
    row = known(session, actor, model, identity)
    if row is None:
        raise NotFound(code, None, met=identity)
    return row


def job_row(session: Session, actor: Actor, number: str) -> Job:
    """The job with this number. Raises NotFound `no_such_job`."""
    row = session.scalars(scoped(session, actor, Job).where(Job.number == number)).one_or_none()
    if row is None:
        raise NotFound("no_such_job", None, met=number[:40])
    return row


def open_job(session: Session, actor: Actor, number: str) -> Job:
    """A job to which something may still be added. Raises Conflict `job_closed`."""
    job = job_row(session, actor, number)
    require_job_open(session, actor, job)
    return job


def require_job_open(session: Session, actor: Actor, job: Job) -> None:
    """Raises Conflict `job_closed`."""
    closed = closing_entry(session, actor, job)
    if closed is not None:
        raise job_closed(job, closed)


def job_closed(job: Job, closed: JobEntry) -> Conflict:
    """The refusal of a job to which nothing can be added any more."""
    status = CANCELLED if closed.kind == GIVEN_BACK else closed.kind
    return Conflict("job_closed", None, job=job.number, status=status)


def stands_here(closed: JobEntry | None) -> bool:
    """Whether the machine stands in the shop, by the entry that closed its job."""
    return closed is None or (closed.kind == CANCELLED and bool(closed.still_here))


def closing_entry(session: Session, actor: Actor, job: Job) -> JobEntry | None:
    """The entry that closed the job; None while it is open."""
    newest = session.scalars(
        scoped(session, actor, JobEntry)
        .where(JobEntry.job_id == job.id, JobEntry.kind.in_(CLOSING))
        .order_by(JobEntry.id.desc())
        .limit(1)
    ).one_or_none()
    return None if newest is None or newest.kind == REOPENED else newest


def names(
    session: Session, actor: OfShop | int, people: Iterable[int | None]
) -> dict[int | None, str]:
    """Names of people by their ids."""
    wanted = {one for one in people if one is not None}
    if not wanted:
        return {}
    rows = session.scalars(scoped(session, actor, Person).where(Person.id.in_(wanted)))
    return {row.id: row.name for row in rows}


def count(session: Session, actor: Actor, model: type[Row], *conditions: object) -> int:
    """How many of the shop's rows meet the conditions."""
    rows = scoped(session, actor, model).where(*conditions)  # type: ignore[arg-type]
    return session.scalar(select(func.count()).select_from(rows.subquery())) or 0
