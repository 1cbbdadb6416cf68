"""Machines: the customers' motorcycles, known by their frame numbers."""

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from app.errors import Conflict, Problem
from app.records.scope import scoped
from app.records.search_text import search_text
from app.records.tables import Machine
from app.schemas.frame_number import LONGEST, FrameNumber, read_frame_number
from app.schemas.machine import MachineIn
from app.schemas.problems import refused
from app.services import audit
from app.services.customers import customer_row
from app.services.lookup import by_id
from app.services.permissions import Actor, require
from app.services.search import found_by, is_exactly, mark_in, page


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
    require(actor, "machines.write")
    customer = customer_row(session, actor, customer_id)
    number = taken(machine.frame_number)
    _require_unknown(session, actor, number.number, None)
    row = Machine(
        shop_id=actor.shop_id,
        customer_id=customer.id,
        make="",
        model="",
        frame_number="",
        created_at=now,
    )
    _fill(row, machine, number)
    session.add(row)
    session.flush()
    _record(session, actor, "machine.created", row, now)
    return view(row)


def read(session: Session, actor: Actor, machine_id: int) -> MachineView:
    """One machine. Raises NotFound `no_such_machine`."""
    require(actor, "machines.read")
    return view(machine_row(session, actor, machine_id))


def find(
    session: Session,
    actor: Actor,
    text: str = "",
    customer_id: int | None = None,
    limit: int = 50,
    offset: int = 0,
) -> tuple[MachineView, ...]:
    """Machines whose make, model, plate or frame number holds every word of `text`, newest first.

    Plate and frame number are found with or without their spaces and dashes, and stand before all
    others where `text` is just that.
    """
    require(actor, "machines.read")
    limit, offset = page(limit, offset)
    rows = scoped(session, actor, Machine).where(found_by(Machine.search_text, text))
    if customer_id is not None:
        rows = rows.where(Machine.customer_id == customer_id)
    exact_first = [is_exactly(text, Machine.search_text).desc()] if mark_in(text) else []
    rows = rows.order_by(*exact_first, Machine.id.desc()).limit(limit).offset(offset)
    return tuple(view(row) for row in session.scalars(rows))


def update(
    session: Session, actor: Actor, machine_id: int, machine: MachineIn, now: datetime
) -> MachineView:
    """Puts the values of `machine` in place of the old ones. Raises as `create` does."""
    require(actor, "machines.write")
    row = machine_row(session, actor, machine_id)
    number = taken(machine.frame_number)
    _require_unknown(session, actor, number.number, row.id)
    _fill(row, machine, number)
    session.flush()
    _record(session, actor, "machine.changed", row, now)
    return view(row)


def machine_row(session: Session, actor: Actor, machine_id: int) -> Machine:
    """The row of a machine. Raises NotFound `no_such_machine`."""
    return by_id(session, actor, Machine, machine_id, "no_such_machine")


def known_by_frame(session: Session, actor: Actor, number: str) -> Machine | None:
    """The machine with this frame number, as it is kept; None when there is none."""
    rows = scoped(session, actor, Machine).where(Machine.frame_number == number)
    return session.scalars(rows.order_by(Machine.id)).first()


def taken(text: str, field: str = "frame_number") -> FrameNumber:
    """The frame number in `text`, with its oddities as warnings. Raises BadInput."""
    refusals = frame_number_refusals(text, field)
    if refusals:
        raise refused(refusals)
    read = read_frame_number(text, field)
    return FrameNumber(read.number, (), (*read.problems, *read.warnings))


def frame_number_refusals(text: str, field: str) -> tuple[Problem, ...]:
    """Why a frame number cannot be kept: empty, too long or not printable, and nothing else.

    Frames older than the standard carry anything; a short or odd one is a warning.
    """
    read = read_frame_number(text, field)
    if 1 <= len(read.number) <= LONGEST and read.number.isprintable():
        return ()
    return read.problems


def view(row: Machine) -> MachineView:
    return MachineView(
        id=row.id,
        customer_id=row.customer_id,
        make=row.make,
        model=row.model,
        year=row.year,
        plate=row.plate or None,
        colour=row.colour or None,
        note=row.note or None,
        frame_number=row.frame_number,
        frame_number_as_read=row.frame_number_as_read,
        frame_number_warnings=taken(row.frame_number).warnings,
        created_at=row.created_at,
    )


def _fill(row: Machine, machine: MachineIn, number: FrameNumber) -> None:
    row.make, row.model, row.year = machine.make, machine.model, machine.year
    row.plate, row.colour = machine.plate or "", machine.colour or ""
    row.note = machine.note or ""
    row.frame_number, row.frame_number_as_read = number.number, machine.frame_number
    row.search_text = search_text(
        row.make, row.model, row.colour, marks=(row.plate, row.frame_number)
    )


def _require_unknown(session: Session, actor: Actor, number: str, own: int | None) -> None:
    known = known_by_frame(session, actor, number)
    if known is not None and known.id != own:
        raise Conflict("frame_number_known", "frame_number", met=number, machine=known.id)


def _record(session: Session, actor: Actor, what: str, row: Machine, now: datetime) -> None:
    public = {
        "make": row.make,
        "model": row.model,
        "year": row.year,
        "frame_number": row.frame_number,
    }
    personal = {"plate": row.plate, "note": row.note}
    kept = {name: value for name, value in personal.items() if value}
    about = f"customer:{row.customer_id}"
    audit.record(session, actor, what, f"machine:{row.id}", now, public, kept, about)
