"""Customers: kept, found again, changed, and erased when they ask for it."""

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from app.schemas.customer import CustomerIn
from app.services.permissions import Actor


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
    raise NotImplementedError


def read(session: Session, actor: Actor, customer_id: int) -> CustomerView:
    """One customer. Raises NotFound `no_such_customer`."""
    raise NotImplementedError


def find(
    session: Session, actor: Actor, text: str = "", limit: int = 50, offset: int = 0
) -> tuple[CustomerView, ...]:
    """Customers whose name, telephone or mail holds every word of `text`, newest first."""
    raise NotImplementedError


def update(
    session: Session, actor: Actor, customer_id: int, customer: CustomerIn, now: datetime
) -> CustomerView:
    """Puts the values of `customer` in place of the old ones.

    Raises NotFound `no_such_customer`, Conflict `customer_erased`.
    """
    raise NotImplementedError


def erase(
    session: Session, actor: Actor, customer_id: int, reason: str, now: datetime
) -> CustomerView:
    """Erases the personal values of a customer, here and in the events, for good.

    The record and its jobs stay, without a name. Raises NotFound `no_such_customer`.
    """
    raise NotImplementedError
