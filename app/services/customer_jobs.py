"""The jobs of one customer, a line each."""

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from app.records.scope import scoped
from app.records.tables import Machine
from app.services import erasing, road
from app.services.customers import customer_row
from app.services.job_facts import facts_of
from app.services.permissions import Actor, require


@dataclass(frozen=True, slots=True)
class CustomerJob:
    number: str
    status: str
    """One of `road.STATUSES`."""
    received_at: datetime
    make: str
    model: str
    year: int | None


def listing(session: Session, actor: Actor, customer_id: int) -> tuple[CustomerJob, ...]:
    """The newest first. Raises NotFound `no_such_customer`."""
    require(actor, "jobs.read")
    jobs = erasing.jobs_of(session, actor, customer_row(session, actor, customer_id))
    facts = facts_of(session, actor, jobs)
    ids = {job.machine_id for job in jobs}
    rows = session.scalars(scoped(session, actor, Machine).where(Machine.id.in_(ids)))
    machines = {row.id: row for row in rows}
    return tuple(
        CustomerJob(
            number=job.number,
            status=road.status(facts[job.id]),
            received_at=job.received_at,
            make=machines[job.machine_id].make,
            model=machines[job.machine_id].model,
            year=machines[job.machine_id].year,
        )
        for job in reversed(jobs)
    )
