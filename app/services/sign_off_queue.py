"""What waits for an inspector, with what stands in the way of a signature; and what else is on
record of the same frame."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy.orm import Session

from app.records.scope import scoped
from app.records.tables import Certificate, Hold, Job, Machine
from app.services import today
from app.services.certificate_case import gather
from app.services.certificate_reasons import reasons
from app.services.job_search import Asked
from app.services.job_views import JobView
from app.services.lookup import job_row
from app.services.permissions import Actor, require
from app.services.register import CertificateView, views_of
from app.services.road_facts import Outdated, Withdrawn
from app.services.sending_back import Exchange, exchanges
from app.services.today import TodayLine

MOST = 40
"""Jobs that are looked through for reasons: each takes a few hundredths of a second."""


@dataclass(frozen=True, slots=True)
class QueueLine:
    line: TodayLine
    against_report: int
    """How many reasons stand against a report; none: it can be signed now."""
    against_completion: int
    after_sending_back: str | None
    """What followed when it was sent back: `answered`, `measured_again`; None: it never was."""
    answer: str = ""
    """What was answered; empty where it was not, or erased."""
    withdrawn: Withdrawn | None = None
    """The certificate that was withdrawn last, until something followed it."""
    outdated: Outdated | None = None
    """The certificate in force that a new one is to take the place of."""


@dataclass(frozen=True, slots=True)
class OpenHold:
    """A hold of a job that is open, or whose machine stands here."""

    job: str
    id: int
    item: str
    note: str
    plate: str
    machine: str
    since: datetime


@dataclass(frozen=True, slots=True)
class Queue:
    to_sign: tuple[QueueLine, ...]
    """The overdue first, then what has waited longest."""
    total: int
    """How many there are, also beyond those that are told."""
    sent_back: tuple[TodayLine, ...]
    """What the technician has to measure again or to answer."""
    on_hold: tuple[OpenHold, ...] = ()
    """Holds that an inspector has to close, the oldest first."""


def queue(session: Session, actor: Actor, on: date) -> Queue:
    """The inspector's work. `on` is the day that promised days are held against."""
    require(actor, "certificates.issue")
    waiting = today.today(session, actor, on, waits_for="inspector", limit=MOST)
    others = today.today(session, actor, on, waits_for="technician")
    return Queue(
        to_sign=tuple(_line(session, actor, line) for line in waiting.lines),
        total=waiting.total,
        sent_back=tuple(line for line in others.lines if line.sent_back),
        on_hold=open_holds(session, actor),
    )


def open_holds(session: Session, actor: Actor) -> tuple[OpenHold, ...]:
    """The holds that an inspector has to close, of jobs that are open; the oldest first."""
    require(actor, "jobs.read")
    jobs = {job.id: job for job in Asked(session, actor, "", None).open_ones()}
    wanted = scoped(session, actor, Hold).where(Hold.closed_at.is_(None))
    holds = session.scalars(wanted.where(Hold.job_id.in_(jobs)).order_by(Hold.id)).all()
    machines = {jobs[hold.job_id].machine_id for hold in holds}
    rows = session.scalars(scoped(session, actor, Machine).where(Machine.id.in_(machines)))
    by_id = {row.id: row for row in rows}
    return tuple(_open_hold(hold, jobs[hold.job_id], by_id) for hold in holds)


def _open_hold(hold: Hold, job: Job, machines: Mapping[int, Machine]) -> OpenHold:
    machine = machines[job.machine_id]
    return OpenHold(
        job=job.number,
        id=hold.id,
        item=hold.reason,
        note=hold.note,
        plate=machine.plate or "",
        machine=f"{machine.make} {machine.model}",
        since=hold.opened_at,
    )


def of_the_same_frame(session: Session, actor: Actor, number: str) -> tuple[CertificateView, ...]:
    """Certificates of machines with this job's frame number, this job's as well, newest first.

    Whatever their status: one that was withdrawn says as much. Raises NotFound.
    """
    require(actor, "certificates.read")
    job = job_row(session, actor, number)
    own = scoped(session, actor, Machine).where(Machine.id == job.machine_id)
    frame_number = session.scalars(own).one().frame_number
    rows = (
        scoped(session, actor, Certificate)
        .join(Job, Job.id == Certificate.job_id)
        .join(Machine, Machine.id == Job.machine_id)
        .where(Machine.frame_number == frame_number)
        .order_by(Certificate.id.desc())
    )
    return views_of(session, actor, session.scalars(rows).all())


def _line(session: Session, actor: Actor, line: TodayLine) -> QueueLine:
    case = gather(session, actor, line.number)
    said = exchanges(session, actor, line.number)
    return QueueLine(
        line,
        against_report=len(reasons(case, actor, "report")),
        against_completion=len(reasons(case, actor, "completion")),
        after_sending_back=_after_sending_back(said, case.job),
        answer=case.job.answered.words if case.job.answered else "",
        withdrawn=case.job.withdrawn,
        outdated=case.job.outdated,
    )


def _after_sending_back(said: tuple[Exchange, ...], job: JobView) -> str | None:
    """An answer that something was measured after is no longer what followed."""
    if not said:
        return None
    return "answered" if job.answered else "measured_again"
