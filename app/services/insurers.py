"""Insurers, to whom claims belong."""

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from app.schemas.insurer import InsurerIn
from app.services.permissions import Actor


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
    raise NotImplementedError


def read(session: Session, actor: Actor, insurer_id: int) -> InsurerView:
    """One insurer. Raises NotFound `no_such_insurer`."""
    raise NotImplementedError


def find(
    session: Session, actor: Actor, text: str = "", limit: int = 50, offset: int = 0
) -> tuple[InsurerView, ...]:
    """Insurers whose name holds every word of `text`, by name."""
    raise NotImplementedError


def update(
    session: Session, actor: Actor, insurer_id: int, insurer: InsurerIn, now: datetime
) -> InsurerView:
    """Puts the values of `insurer` in place of the old ones. Raises NotFound."""
    raise NotImplementedError
