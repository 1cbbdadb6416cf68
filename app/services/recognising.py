"""Who and what the shop knows already, while the desk still types a name, a plate or a number."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from sqlalchemy.orm import Session

from app.records.scope import scoped
from app.records.search_text import closed_up
from app.records.tables import Job
from app.services import customers, machines
from app.services.customers import CustomerView
from app.services.lookup import closing_entry, stands_here
from app.services.machines import MachineView
from app.services.permissions import Actor, require

MOST = 5
"""Of each kind: who is not among them is found by typing on."""
SHORTEST_NAME, SHORTEST_MARK = 2, 4


@dataclass(frozen=True, slots=True)
class Typed:
    """What was typed so far."""

    name: str = ""
    phone: str = ""
    plate: str = ""
    frame_number: str = ""


@dataclass(frozen=True, slots=True)
class Recognised:
    """A customer with one of their machines, or with another one that is still to be typed."""

    customer: CustomerView
    machine: MachineView | None
    by_mark: bool
    """The machine was found by its plate or frame number, whoever owns it now."""
    here_as: str | None
    """Number of the open job, when the machine is in the shop already."""


def recognised(session: Session, actor: Actor, typed: Typed) -> tuple[Recognised, ...]:
    """Machines with that plate or frame number, then customers with that name or telephone."""
    require(actor, "jobs.check_in")
    found: dict[tuple[int, int], Recognised] = {}
    for one in _all(session, actor, typed):
        found.setdefault((one.customer.id, one.machine.id if one.machine else 0), one)
    return tuple(found.values())


def is_enough(typed: Typed) -> bool:
    """Whether anybody can be looked up by it: two signs of a name, four of all else."""
    marks = (typed.phone, typed.plate, typed.frame_number)
    return bool(_long_enough((typed.name,), SHORTEST_NAME) or _long_enough(marks, SHORTEST_MARK))


def _all(session: Session, actor: Actor, typed: Typed) -> Iterator[Recognised]:
    for machine in _by_marks(session, actor, typed):
        owner = customers.read(session, actor, machine.customer_id)
        yield Recognised(owner, machine, True, _here_as(session, actor, machine))
    for customer in _by_person(session, actor, typed):
        theirs = machines.find(session, actor, customer_id=customer.id, limit=MOST)
        for machine in theirs:
            yield Recognised(customer, machine, False, _here_as(session, actor, machine))
        yield Recognised(customer, None, False, None)


def _by_marks(session: Session, actor: Actor, typed: Typed) -> Iterator[MachineView]:
    for mark in _long_enough((typed.plate, typed.frame_number), SHORTEST_MARK):
        yield from machines.find(session, actor, closed_up(mark), limit=MOST)


def _by_person(session: Session, actor: Actor, typed: Typed) -> Iterator[CustomerView]:
    for name in _long_enough((typed.name,), SHORTEST_NAME):
        yield from customers.find(session, actor, name, limit=MOST)
    for phone in _long_enough((typed.phone,), SHORTEST_MARK):
        yield from customers.find(session, actor, phone, limit=MOST)


def _long_enough(texts: Iterable[str], shortest: int) -> list[str]:
    return [text for text in texts if sum(sign.isalnum() for sign in text) >= shortest]


def _here_as(session: Session, actor: Actor, machine: MachineView) -> str | None:
    jobs = scoped(session, actor, Job).where(Job.machine_id == machine.id).order_by(Job.id.desc())
    open_ones = (
        job.number
        for job in session.scalars(jobs.limit(MOST))
        if stands_here(closing_entry(session, actor, job))
    )
    return next(open_ones, None)
