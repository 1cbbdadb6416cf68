"""Who and what the shop knows already, while the desk still types a name, a plate or a number."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from sqlalchemy import or_
from sqlalchemy.orm import Session

from app.records.scope import scoped
from app.records.search_text import closed_up
from app.records.tables import Customer, Job, Machine
from app.services import customers, machines
from app.services.customers import CustomerView
from app.services.lookup import closing_entry, count, stands_here
from app.services.machines import MachineView
from app.services.permissions import Actor, require
from app.services.search import found_by

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
    fits_by: str = ""
    """`address` or `email` where neither name nor telephone fits, nor a mark of the machine."""


def recognised(session: Session, actor: Actor, typed: Typed) -> tuple[Recognised, ...]:
    """Machines with that plate or frame number, then customers with that name or telephone."""
    require(actor, "jobs.check_in")
    found: dict[tuple[int, int], Recognised] = {}
    for one in _all(session, actor, typed):
        found.setdefault((one.customer.id, one.machine.id if one.machine else 0), one)
    return tuple(found.values())


def left_out(session: Session, actor: Actor, typed: Typed) -> int:
    """How many more customers and machines fit than `recognised` gives."""
    require(actor, "jobs.check_in")
    people = [customers.fitting(session, actor, text) for text in _of_person(typed)]
    marks = [found_by(Machine.search_text, mark) for mark in _marks(typed)]
    fit = [(Customer, people), (Machine, marks)]
    total = sum(count(session, actor, kind, or_(*each)) for kind, each in fit if each)
    shown = {one.id for one, _text in _by_person(session, actor, typed)}
    return total - len(shown) - len({one.id for one in _by_marks(session, actor, typed)})


def is_enough(typed: Typed) -> bool:
    """Whether anybody can be looked up by it: two signs of a name, four of all else."""
    marks = (typed.phone, typed.plate, typed.frame_number)
    return bool(_long_enough((typed.name,), SHORTEST_NAME) or _long_enough(marks, SHORTEST_MARK))


def _all(session: Session, actor: Actor, typed: Typed) -> Iterator[Recognised]:
    for machine in _by_marks(session, actor, typed):
        owner = customers.read(session, actor, machine.customer_id)
        yield Recognised(owner, machine, True, _here_as(session, actor, machine))
    for customer, text in _by_person(session, actor, typed):
        by = customers.fits_by(customer, text)
        theirs = machines.find(session, actor, customer_id=customer.id, limit=MOST)
        for machine in theirs:
            yield Recognised(customer, machine, False, _here_as(session, actor, machine), by)
        yield Recognised(customer, None, False, None, by)


def _by_marks(session: Session, actor: Actor, typed: Typed) -> Iterator[MachineView]:
    for mark in _marks(typed):
        yield from machines.find(session, actor, mark, limit=MOST)


def _by_person(session: Session, actor: Actor, typed: Typed) -> Iterator[tuple[CustomerView, str]]:
    """Customers, each with what it was found by."""
    for text in _of_person(typed):
        for one in customers.find(session, actor, text, limit=MOST):
            yield one, text


def _of_person(typed: Typed) -> list[str]:
    phones = _long_enough((typed.phone,), SHORTEST_MARK)
    return [*_long_enough((typed.name,), SHORTEST_NAME), *phones]


def _marks(typed: Typed) -> list[str]:
    return [closed_up(m) for m in _long_enough((typed.plate, typed.frame_number), SHORTEST_MARK)]


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
