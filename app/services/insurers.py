"""Insurers, to whom claims belong."""

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from app.records.scope import scoped
from app.records.search_text import search_text
from app.records.tables import Insurer
from app.schemas.insurer import InsurerIn
from app.services import audit
from app.services.lookup import by_id
from app.services.permissions import Actor, require
from app.services.search import found_by, page

FIELDS = ("name", "address", "phone", "email")


@dataclass(frozen=True, slots=True)
class InsurerView:
    id: int
    name: str
    address: str | None
    phone: str | None
    email: str | None
    created_at: datetime


def create(session: Session, actor: Actor, insurer: InsurerIn, now: datetime) -> InsurerView:
    """A new insurer."""
    require(actor, "insurers.write")
    row = Insurer(shop_id=actor.shop_id, name="", created_at=now)
    _fill(row, insurer)
    session.add(row)
    session.flush()
    _record(session, actor, "insurer.created", row, now)
    return view(row)


def read(session: Session, actor: Actor, insurer_id: int) -> InsurerView:
    """One insurer. Raises NotFound `no_such_insurer`."""
    require(actor, "insurers.read")
    return view(insurer_row(session, actor, insurer_id))


def find(
    session: Session, actor: Actor, text: str = "", limit: int = 50, offset: int = 0
) -> tuple[InsurerView, ...]:
    """Insurers whose name holds every word of `text`, by name."""
    require(actor, "insurers.read")
    limit, offset = page(limit, offset)
    rows = session.scalars(
        scoped(session, actor, Insurer)
        .where(found_by(Insurer.search_text, text))
        .order_by(Insurer.search_text, Insurer.id)
        .limit(limit)
        .offset(offset)
    )
    return tuple(view(row) for row in rows)


def update(
    session: Session, actor: Actor, insurer_id: int, insurer: InsurerIn, now: datetime
) -> InsurerView:
    """Puts the values of `insurer` in place of the old ones. Raises NotFound."""
    require(actor, "insurers.write")
    row = insurer_row(session, actor, insurer_id)
    _fill(row, insurer)
    session.flush()
    _record(session, actor, "insurer.changed", row, now)
    return view(row)


def insurer_row(session: Session, actor: Actor, insurer_id: int) -> Insurer:
    """The row of an insurer. Raises NotFound `no_such_insurer`."""
    return by_id(session, actor, Insurer, insurer_id, "no_such_insurer")


def view(row: Insurer) -> InsurerView:
    return InsurerView(
        id=row.id,
        name=row.name,
        address=row.address or None,
        phone=row.phone or None,
        email=row.email or None,
        created_at=row.created_at,
    )


def _fill(row: Insurer, insurer: InsurerIn) -> None:
    for field in FIELDS:
        setattr(row, field, getattr(insurer, field) or "")
    row.search_text = search_text(row.name, row.email, marks=(row.phone,))


def _record(session: Session, actor: Actor, what: str, row: Insurer, now: datetime) -> None:
    public = {field: getattr(row, field) for field in FIELDS if getattr(row, field)}
    audit.record(session, actor, what, f"insurer:{row.id}", now, public)
