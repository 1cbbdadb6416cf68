"""Customers: kept, found again, changed, and erased when they ask for it."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from app.errors import Conflict
from app.records.scope import scoped
from app.records.search_text import search_text
from app.records.tables import Customer, Job, JobEntry, JobNote, Machine
from app.schemas.customer import CustomerIn
from app.services import audit, idempotency, photos, signatures
from app.services.lookup import by_id
from app.services.permissions import Actor, require
from app.services.search import found_by, page
from app.services.words import words

PERSONAL = ("name", "address", "phone", "email", "note")


@dataclass(frozen=True, slots=True)
class CustomerView:
    id: int
    name: str | None
    """None once the personal values were erased; so are the others then."""
    address: str | None
    phone: str | None
    email: str | None
    note: str | None
    created_at: datetime
    erased_at: datetime | None


def create(session: Session, actor: Actor, customer: CustomerIn, now: datetime) -> CustomerView:
    """A new customer."""
    require(actor, "customers.write")
    row = Customer(shop_id=actor.shop_id, name="", created_at=now)
    _fill(row, customer)
    session.add(row)
    session.flush()
    _record(session, actor, "customer.created", row, now)
    return view(row)


def read(session: Session, actor: Actor, customer_id: int) -> CustomerView:
    """One customer. Raises NotFound `no_such_customer`."""
    require(actor, "customers.read")
    return view(customer_row(session, actor, customer_id))


def find(
    session: Session, actor: Actor, text: str = "", limit: int = 50, offset: int = 0
) -> tuple[CustomerView, ...]:
    """Customers whose name, telephone or mail holds every word of `text`, newest first."""
    require(actor, "customers.read")
    limit, offset = page(limit, offset)
    rows = session.scalars(
        scoped(session, actor, Customer)
        .where(found_by(Customer.search_text, text))
        .order_by(Customer.id.desc())
        .limit(limit)
        .offset(offset)
    )
    return tuple(view(row) for row in rows)


def update(
    session: Session, actor: Actor, customer_id: int, customer: CustomerIn, now: datetime
) -> CustomerView:
    """Puts the values of `customer` in place of the old ones.

    Raises NotFound `no_such_customer`, Conflict `customer_erased`.
    """
    require(actor, "customers.write")
    row = customer_row(session, actor, customer_id)
    if row.erased_at is not None:
        raise Conflict("customer_erased", None, customer=customer_id)
    _fill(row, customer)
    session.flush()
    _record(session, actor, "customer.changed", row, now)
    return view(row)


def erase(
    session: Session, actor: Actor, customer_id: int, reason: str, now: datetime
) -> CustomerView:
    """Erases the personal values of a customer for good: here, in the events, in the answers
    that are kept for repeated requests, and the photos and signatures of their jobs.

    The record, its machines by their frame numbers and its jobs stay, without name, plate or
    account; certificates that were issued stay as they are. Raises NotFound `no_such_customer`,
    Conflict `customer_erased`, BadInput for an empty reason.
    """
    require(actor, "customers.erase")
    why = words(reason, "reason")
    row = customer_row(session, actor, customer_id)
    if row.erased_at is not None:
        raise Conflict("customer_erased", None, customer=customer_id)
    idempotency.forget_words(session, actor, _personal_words(session, actor, row))
    for field in (*PERSONAL, "search_text"):
        setattr(row, field, "")
    row.erased_at = now
    _erase_from_machines(session, actor, row)
    _erase_from_jobs(session, actor, row, now)
    audit.record(session, actor, "customer.erased", mark(row), now, {"reason": why})
    audit.erase(session, actor, mark(row), now)
    return view(row)


def customer_row(session: Session, actor: Actor, customer_id: int) -> Customer:
    """The row of a customer. Raises NotFound `no_such_customer`."""
    return by_id(session, actor, Customer, customer_id, "no_such_customer")


def view(row: Customer) -> CustomerView:
    return CustomerView(
        id=row.id,
        name=row.name or None,
        address=row.address or None,
        phone=row.phone or None,
        email=row.email or None,
        note=row.note or None,
        created_at=row.created_at,
        erased_at=row.erased_at,
    )


def mark(row: Customer) -> str:
    """How events name the customer."""
    return f"customer:{row.id}"


def _fill(row: Customer, customer: CustomerIn) -> None:
    for field in PERSONAL:
        setattr(row, field, getattr(customer, field) or "")
    row.search_text = search_text(row.name, row.email, row.address, marks=(row.phone,))


def _record(session: Session, actor: Actor, what: str, row: Customer, now: datetime) -> None:
    personal = {field: getattr(row, field) for field in PERSONAL if getattr(row, field)}
    audit.record(session, actor, what, mark(row), now, personal=personal)


def _personal_words(session: Session, actor: Actor, row: Customer) -> list[str]:
    """What a stored answer may have told of the customer."""
    machines = scoped(session, actor, Machine).where(Machine.customer_id == row.id)
    of_machines = [(one.plate, one.note) for one in session.scalars(machines)]
    jobs = [job.id for job in _jobs_of(session, actor, row)]
    earlier = audit.words_about(session, actor, mark(row))
    return [
        *(getattr(row, field) for field in PERSONAL),
        *earlier,
        *(line for text in earlier for line in text.splitlines()),
        *(word for pair in of_machines for word in pair),
        *(said.words for said in _said_of(session, actor, jobs)),
        *photos.captions_of(session, actor, jobs),
        *signatures.names_of(session, actor, jobs),
    ]


def _jobs_of(session: Session, actor: Actor, row: Customer) -> Sequence[Job]:
    return session.scalars(scoped(session, actor, Job).where(Job.customer_id == row.id)).all()


def _said_of(session: Session, actor: Actor, jobs: Sequence[int]) -> Sequence[JobNote | JobEntry]:
    """Notes, and reasons why a job was cancelled, sent back and the like."""
    notes = scoped(session, actor, JobNote).where(JobNote.job_id.in_(jobs))
    entries = scoped(session, actor, JobEntry).where(JobEntry.job_id.in_(jobs))
    return [*session.scalars(notes), *session.scalars(entries)]


def _erase_from_machines(session: Session, actor: Actor, row: Customer) -> None:
    machines = scoped(session, actor, Machine).where(Machine.customer_id == row.id)
    for machine in session.scalars(machines):
        machine.plate = machine.note = ""
        machine.search_text = search_text(
            machine.make, machine.model, marks=(machine.frame_number,)
        )


def _erase_from_jobs(session: Session, actor: Actor, row: Customer, now: datetime) -> None:
    jobs = _jobs_of(session, actor, row)
    for job in jobs:
        job.what_happened = job.authorised_by = job.keys_and_accessories = ""
        job.search_text = search_text(marks=(job.number,))
    ids = [job.id for job in jobs]
    for said in _said_of(session, actor, ids):
        said.words = ""
        if isinstance(said, JobEntry):
            said.given_back = said.kept_here = ""
    photos.erase_of_jobs(session, actor, ids, now)
    signatures.erase_of_jobs(session, actor, ids, now)
