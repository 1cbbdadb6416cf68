"""Machines: the customers' motorcycles, known by their frame numbers."""

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from app.errors import Problem
from app.schemas.machine import MachineIn
from app.services.permissions import Actor


@dataclass(frozen=True, slots=True)
class MachineView:
    id: int
    customer_id: int
    make: str
    model: str
    year: int | None
    plate: str | None
    colour: str | None
    note: str | None
    frame_number: str
    """As it is kept: without spaces and dashes, upper case."""
    frame_number_as_read: str
    """As it was typed in."""
    frame_number_warnings: tuple[Problem, ...]
    """What is odd about the frame number; nothing of it refuses the machine."""
    created_at: datetime


def create(
    session: Session, actor: Actor, customer_id: int, machine: MachineIn, now: datetime
) -> MachineView:
    """A new machine of a customer.

    Raises NotFound `no_such_customer`, BadInput for a frame number that is empty, too long or not
    printable, Conflict `frame_number_known` when this shop has a machine with that number.
    """
    raise NotImplementedError


def read(session: Session, actor: Actor, machine_id: int) -> MachineView:
    """One machine. Raises NotFound `no_such_machine`."""
    raise NotImplementedError


def find(
    session: Session,
    actor: Actor,
    text: str = "",
    customer_id: int | None = None,
    limit: int = 50,
    offset: int = 0,
) -> tuple[MachineView, ...]:
    """Machines whose make, model, plate or frame number holds every word of `text`, newest first.

    Plate and frame number are found with or without their spaces and dashes.
    """
    raise NotImplementedError


def update(
    session: Session, actor: Actor, machine_id: int, machine: MachineIn, now: datetime
) -> MachineView:
    """Puts the values of `machine` in place of the old ones. Raises as `create` does."""
    raise NotImplementedError
