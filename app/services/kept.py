"""Everything that is kept about a customer, gathered to be shown or handed to them.

What is measured of a machine is counted, not repeated: it speaks of the machine, and the
certificates say it.
"""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from app.errors import BadInput, Fact, Problem
from app.records.scope import scoped
from app.records.tables import Event, PersonalValue
from app.services import (
    audit,
    claims,
    closings,
    customers,
    erasing,
    jobs,
    machines,
    notes,
    photos,
    signatures,
)
from app.services.claims import LinkView
from app.services.closings import Closing
from app.services.customers import CustomerView
from app.services.erasing import StillNamed
from app.services.jobs import JobView
from app.services.machines import MachineView
from app.services.notes import NoteView
from app.services.permissions import Actor, require
from app.services.photos import PhotoView
from app.services.search import MOST_ROWS
from app.services.signatures import SignatureView

TOLD = "customer.told"
WAYS = ("paper", "file")
"""How it may be given to the customer."""


@dataclass(frozen=True, slots=True)
class KeptJob:
    """One visit with everything that was said and signed on it."""

    job: JobView
    closings: tuple[Closing, ...]
    notes: tuple[NoteView, ...]
    photos: tuple[PhotoView, ...]
    signatures: tuple[SignatureView, ...]
    links: tuple[LinkView, ...]
    """For whom links to its claim were made."""


@dataclass(frozen=True, slots=True)
class KeptValue:
    """A value of the customer beside an event of the log."""

    at: datetime
    what: str
    """Code of the event."""
    name: str
    value: object


@dataclass(frozen=True, slots=True)
class Given:
    """What is kept was given to the customer."""

    at: datetime
    way: str
    """One of `WAYS`."""


@dataclass(frozen=True, slots=True)
class Kept:
    customer: CustomerView
    machines: tuple[MachineView, ...]
    """Those that are the customer's now."""
    jobs: tuple[KeptJob, ...]
    """The oldest first."""
    log: tuple[KeptValue, ...]
    """In the order of the events."""
    named: tuple[StillNamed, ...]
    """Texts about the machine and the work on it that name the customer, or may."""


def read(session: Session, actor: Actor, customer_id: int, now: datetime) -> Kept:
    """All of it. Raises NotFound `no_such_customer`."""
    require(actor, "customers.tell")
    row = customers.customer_row(session, actor, customer_id)
    own = machines.find(session, actor, customer_id=customer_id, limit=MOST_ROWS)
    numbers = [job.number for job in erasing.jobs_of(session, actor, row)]
    found = tuple(_job(session, actor, number, now) for number in numbers)
    shown = [f"photo:{photo.id}" for one in found for photo in one.photos]
    log = _log(session, actor, [customers.mark(row), *shown])
    named = erasing.still_named(session, actor, row)
    return Kept(customers.view(row), own, found, log, named)


def given(session: Session, actor: Actor, customer_id: int) -> tuple[Given, ...]:
    """When it was given to the customer, the last time first."""
    require(actor, "customers.tell")
    row = customers.customer_row(session, actor, customer_id)
    events = scoped(session, actor, Event).where(
        Event.what == TOLD, Event.subject == customers.mark(row)
    )
    found = session.scalars(events.order_by(Event.position.desc()))
    return tuple(Given(one.at, json.loads(one.public)["given"]) for one in found)


def give(session: Session, actor: Actor, customer_id: int, way: str, now: datetime) -> None:
    """Notes that what is kept was given to the customer. Raises NotFound `no_such_customer`,
    BadInput unless the way is one of `WAYS`."""
    require(actor, "customers.tell")
    row = customers.customer_row(session, actor, customer_id)
    if way not in WAYS:
        code = "not_one_of" if way else "nothing_chosen"
        facts: dict[str, Fact] = {"met": way[:40], "allowed": WAYS} if way else {}
        raise BadInput([Problem(code, "way", facts)], code)
    audit.record(session, actor, TOLD, customers.mark(row), now, {"given": way})


def erased_with(session: Session, actor: Actor, customer_id: int) -> dict[str, object]:
    """Why the customer was erased, and how much of what was emptied then, by the event log; empty
    where that was not done."""
    require(actor, "customers.read")
    row = customers.customer_row(session, actor, customer_id)
    events = scoped(session, actor, Event).where(
        Event.what == customers.ERASED, Event.subject == customers.mark(row)
    )
    found = session.scalars(events.order_by(Event.position.desc()).limit(1)).first()
    return dict(json.loads(found.public)) if found else {}


def _job(session: Session, actor: Actor, number: str, now: datetime) -> KeptJob:
    return KeptJob(
        job=jobs.read(session, actor, number),
        closings=closings.of_job(session, actor, number),
        notes=tuple(reversed(notes.listing(session, actor, number))),
        photos=photos.listing(session, actor, number),
        signatures=signatures.listing(session, actor, number),
        links=claims.links(session, actor, now, job_number=number),
    )


def _log(session: Session, actor: Actor, about: Sequence[str]) -> tuple[KeptValue, ...]:
    rows = (
        scoped(session, actor, PersonalValue)
        .join(Event, Event.id == PersonalValue.event_id)
        .where(PersonalValue.about.in_(about), PersonalValue.value.is_not(None))
        .order_by(Event.position, PersonalValue.name)
        .with_only_columns(Event.at, Event.what, PersonalValue.name, PersonalValue.value)
    )
    found = session.execute(rows)
    return tuple(
        KeptValue(at, what, name, json.loads(value or "null")) for at, what, name, value in found
    )
