"""Customers: kept, found again, changed, and erased when they ask for it."""

import hashlib
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import ColumnElement
from sqlalchemy.orm import Session

from app.errors import BadInput, Conflict, Problem
from app.records.scope import scoped
from app.records.search_text import search_text
from app.records.tables import Customer
from app.schemas.customer import CustomerIn
from app.services import audit, erasing
from app.services.erasing import PERSONAL, Extent
from app.services.lookup import by_id, count
from app.services.permissions import Actor, require
from app.services.search import NamesOf, asks_beside, found_by, holds, page
from app.services.words import words

ERASED = "customer.erased"


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
    erasure_asked_at: datetime | None = None
    """Since when the customer waits to be erased; None: nobody asked for it."""

    @property
    def digest(self) -> str:
        """Another one as soon as any personal value is another."""
        told = "\x1f".join(getattr(self, field) or "" for field in PERSONAL)
        return hashlib.sha256(told.encode()).hexdigest()[:16]


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
    """Customers whose name or telephone holds every word of `text`, newest first; those whose
    address or mail does only where no name fits or an "@" was typed."""
    require(actor, "customers.read")
    limit, offset = page(limit, offset)
    rows = session.scalars(
        scoped(session, actor, Customer)
        .where(fitting(session, actor, text))
        .order_by(Customer.id.desc())
        .limit(limit)
        .offset(offset)
    )
    return tuple(view(row) for row in rows)


def fitting(session: Session, actor: Actor, text: str) -> ColumnElement[bool]:
    """The condition by which `find` finds."""
    names = found_by(NamesOf(Customer.search_text), text)
    if not asks_beside(text) and count(session, actor, Customer, names):
        return names
    return found_by(Customer.search_text, text)


def fits_by(one: CustomerView, text: str) -> str:
    """What makes the customer fit beside name and telephone: `address`, `email`, or empty."""
    if holds(search_text(one.name, marks=(one.phone,)), text):
        return ""
    with_address = search_text(one.name, one.address, marks=(one.phone,))
    return "address" if holds(with_address, text) else "email"


def update(
    session: Session,
    actor: Actor,
    customer_id: int,
    customer: CustomerIn,
    now: datetime,
    seen: str | None = None,
) -> CustomerView:
    """Puts the values of `customer` in place of the old ones.

    `seen`: the digest of what stood there when the change was begun. Raises NotFound
    `no_such_customer`, Conflict `customer_erased`, `changed_meanwhile`.
    """
    require(actor, "customers.write")
    row = _standing(session, actor, customer_id)
    if seen is not None and seen != view(row).digest:
        raise Conflict("changed_meanwhile", None)
    _fill(row, customer)
    session.flush()
    _record(session, actor, "customer.changed", row, now)
    return view(row)


def ask_erasure(session: Session, actor: Actor, customer_id: int, now: datetime) -> CustomerView:
    """Notes that the customer asked to be erased: it waits for who may do it. Asking again changes
    nothing. Raises NotFound `no_such_customer`, Conflict `customer_erased`."""
    require(actor, "customers.write")
    row = _standing(session, actor, customer_id)
    if row.erasure_asked_at is None:
        row.erasure_asked_at = now
        audit.record(session, actor, "customer.erasure_asked", mark(row), now)
    return view(row)


def take_asking_back(
    session: Session, actor: Actor, customer_id: int, now: datetime
) -> CustomerView:
    """The customer wishes to be kept after all, or it was noted by mistake. Raises as
    `ask_erasure`."""
    require(actor, "customers.write")
    row = _standing(session, actor, customer_id)
    if row.erasure_asked_at is not None:
        row.erasure_asked_at = None
        audit.record(session, actor, "customer.erasure_not_asked", mark(row), now)
    return view(row)


def waiting_to_be_erased(session: Session, actor: Actor) -> tuple[CustomerView, ...]:
    """Who asked and was not erased yet, the longest waiting first."""
    require(actor, "customers.erase")
    rows = scoped(session, actor, Customer).where(
        Customer.erasure_asked_at.is_not(None), Customer.erased_at.is_(None)
    )
    found = session.scalars(rows.order_by(Customer.erasure_asked_at, Customer.id))
    return tuple(view(row) for row in found)


def extent(session: Session, actor: Actor, customer_id: int) -> Extent:
    """What `erase` would empty and what it would leave. Raises as `erase`."""
    require(actor, "customers.erase")
    return erasing.extent(session, actor, _standing(session, actor, customer_id))


def erase(
    session: Session, actor: Actor, customer_id: int, reason: str, now: datetime
) -> CustomerView:
    """Erases the personal values of a customer for good: here, in the events, in the answers
    that are kept for repeated requests, and the photos and signatures of their jobs.

    The record, its machines by their frame numbers and its jobs stay, without name, plate or
    account; certificates that were issued stay as they are. Links to these jobs end. Raises
    NotFound `no_such_customer`, Conflict `customer_erased`, BadInput for an empty reason and
    `reason_names_customer`: the log keeps it for good.
    """
    why = reason_to_erase(session, actor, customer_id, reason)
    row = _standing(session, actor, customer_id)
    row.erased_at = now
    emptied = erasing.empty(session, actor, row, now)
    said = {"reason": why, **erasing.counts(emptied)}
    audit.record(session, actor, ERASED, mark(row), now, said)
    audit.erase(session, actor, mark(row), now)
    return view(row)


def reason_to_erase(session: Session, actor: Actor, customer_id: int, reason: str) -> str:
    """The reason as the log takes it. Raises as `erase`."""
    require(actor, "customers.erase")
    why = words(reason, "reason")
    row = _standing(session, actor, customer_id)
    if erasing.names_the_customer(session, actor, row, why):
        raise BadInput([Problem("reason_names_customer", "reason")], "reason_names_customer")
    return why


def _standing(session: Session, actor: Actor, customer_id: int) -> Customer:
    row = customer_row(session, actor, customer_id)
    if row.erased_at is not None:
        raise Conflict("customer_erased", None, customer=customer_id)
    return row


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
        erasure_asked_at=row.erasure_asked_at,
    )


def mark(row: Customer) -> str:
    """How events name the customer."""
    return f"customer:{row.id}"


def _fill(row: Customer, customer: CustomerIn) -> None:
    for field in PERSONAL:
        setattr(row, field, getattr(customer, field) or "")
    row.search_text = search_text(row.name, marks=(row.phone,), beside=(row.address, row.email))


def _record(session: Session, actor: Actor, what: str, row: Customer, now: datetime) -> None:
    personal = {field: getattr(row, field) for field in PERSONAL if getattr(row, field)}
    audit.record(session, actor, what, mark(row), now, personal=personal)
