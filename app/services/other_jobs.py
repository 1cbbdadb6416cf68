"""The other visits of a machine: what the desk is asked when it comes again."""

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from app.records.scope import scoped
from app.records.tables import Job
from app.services import road
from app.services.job_facts import facts_of
from app.services.permissions import Actor, require

MOST = 10


@dataclass(frozen=True, slots=True)
class OtherJob:
    number: str
    received_at: datetime
    status: str
    """One of `jobs.STATUSES`."""


def of_machine(
    session: Session, actor: Actor, machine_id: int, but: str = ""
) -> tuple[OtherJob, ...]:
    """The jobs of a machine, newest first, the one with the number `but` left out."""
    require(actor, "jobs.read")
    rows = scoped(session, actor, Job).where(Job.machine_id == machine_id, Job.number != but)
    jobs = list(session.scalars(rows.order_by(Job.id.desc()).limit(MOST)))
    facts = facts_of(session, actor, jobs) if jobs else {}
    return tuple(OtherJob(one.number, one.received_at, road.status(facts[one.id])) for one in jobs)
