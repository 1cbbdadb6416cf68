"""Instruments and their calibrations."""

from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy.orm import Session

from app.errors import Conflict, Problem
from app.records.scope import scoped
from app.records.tables import Calibration, Instrument
from app.schemas.instrument import CalibrationIn, InstrumentIn
from app.schemas.problems import refused
from app.services import audit
from app.services.lookup import by_id
from app.services.permissions import Actor, require
from app.services.words import words

FIGURES = (
    "standard_uncertainty_mm", "offset_u_mm", "scale_u_ppm", "probe_radius_mm",
    "scale_temperature_c", "scale_expansion_per_k", "repeatability_mm",
    "repeatability_degrees_of_freedom",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class CalibrationView:
    """What a calibration found; lengths in mm. It is never changed; a later one takes its place."""

    id: int
    standard_uncertainty_mm: float | None
    offset_u_mm: float
    scale_u_ppm: float
    probe_radius_mm: float | None
    scale_temperature_c: float | None
    scale_expansion_per_k: float
    repeatability_mm: float | None
    repeatability_degrees_of_freedom: float | None
    calibrated: date
    due: date
    laboratory: str | None
    document_number: str | None
    passed: bool
    note: str | None

    def in_calibration(self, day: date) -> bool:
        """Whether the instrument was in calibration on this day, first and last day included."""
        return self.passed and self.calibrated <= day <= self.due


@dataclass(frozen=True, slots=True)
class InstrumentView:
    id: int
    name: str
    kind: str | None
    serial_number: str | None
    note: str | None
    created_at: datetime
    retired_at: datetime | None
    calibrations: tuple[CalibrationView, ...]
    """Newest first."""

    def calibration_on(self, day: date) -> CalibrationView | None:
        """The newest calibration made on or before this day, in force or run out."""
        return next((one for one in self.calibrations if one.calibrated <= day), None)

    def in_calibration(self, day: date) -> bool:
        """Whether the instrument was in calibration on this day."""
        calibration = self.calibration_on(day)
        return calibration is not None and calibration.in_calibration(day)


def create(
    session: Session,
    actor: Actor,
    instrument: InstrumentIn,
    now: datetime,
    calibration: CalibrationIn | None = None,
) -> InstrumentView:
    """A new instrument, with its calibration when it has one.

    Raises Conflict `instrument_name_taken`.
    """
    require(actor, "instruments.write")
    _require_free_name(session, actor, instrument.name, None)
    row = Instrument(shop_id=actor.shop_id, name="", created_at=now)
    _fill(row, instrument)
    session.add(row)
    session.flush()
    audit.record(session, actor, "instrument.created", mark(row), now, _said(row))
    if calibration is not None:
        _calibrate(session, actor, row, calibration, now)
    return view(session, actor, row)


def read(session: Session, actor: Actor, instrument_id: int) -> InstrumentView:
    """One instrument. Raises NotFound `no_such_instrument`."""
    require(actor, "instruments.read")
    return view(session, actor, instrument_row(session, actor, instrument_id))


def listing(
    session: Session, actor: Actor, include_retired: bool = False
) -> tuple[InstrumentView, ...]:
    """All instruments, by name."""
    require(actor, "instruments.read")
    rows = scoped(session, actor, Instrument).order_by(Instrument.name)
    if not include_retired:
        rows = rows.where(Instrument.retired_at.is_(None))
    return tuple(view(session, actor, row) for row in session.scalars(rows).all())


def update(
    session: Session, actor: Actor, instrument_id: int, instrument: InstrumentIn, now: datetime
) -> InstrumentView:
    """Renames an instrument. Raises NotFound, Conflict `instrument_name_taken`."""
    require(actor, "instruments.write")
    row = instrument_row(session, actor, instrument_id)
    _require_free_name(session, actor, instrument.name, row.id)
    _fill(row, instrument)
    session.flush()
    audit.record(session, actor, "instrument.changed", mark(row), now, _said(row))
    return view(session, actor, row)


def calibrate(
    session: Session, actor: Actor, instrument_id: int, calibration: CalibrationIn, now: datetime
) -> InstrumentView:
    """Adds a calibration; `calibrating.calibrate` also tells the measurements under way.

    Raises NotFound, Conflict `instrument_retired`.
    """
    require(actor, "instruments.write")
    row = usable_instrument(session, actor, instrument_id)
    _calibrate(session, actor, row, calibration, now)
    return view(session, actor, row)


def retire(
    session: Session, actor: Actor, instrument_id: int, reason: str, now: datetime
) -> InstrumentView:
    """Takes an instrument out of use; its surveys stay.

    Raises NotFound, BadInput for an empty reason, Conflict `instrument_retired`.
    """
    require(actor, "instruments.write")
    why = words(reason, "reason")
    row = usable_instrument(session, actor, instrument_id)
    row.retired_at = now
    audit.record(session, actor, "instrument.retired", mark(row), now, {"reason": why})
    return view(session, actor, row)


def instrument_row(session: Session, actor: Actor, instrument_id: int) -> Instrument:
    """The row of an instrument. Raises NotFound `no_such_instrument`."""
    return by_id(session, actor, Instrument, instrument_id, "no_such_instrument")


def usable_instrument(session: Session, actor: Actor, instrument_id: int) -> Instrument:
    """The same, and in use. Raises NotFound, Conflict `instrument_retired`."""
    row = instrument_row(session, actor, instrument_id)
    if row.retired_at is not None:
        raise Conflict("instrument_retired", None, instrument=row.name)
    return row


def require_of_this(stated: str | None, row: Instrument, field: str) -> None:
    """What names its instrument must name this one. Raises BadInput `other_instrument`."""
    if stated not in (None, row.name):
        facts = {"met": stated, "needed": row.name}
        raise refused([Problem("other_instrument", field, facts)])


def mark(row: Instrument) -> str:
    """How events name the instrument."""
    return f"instrument:{row.id}"


def view(session: Session, actor: Actor, row: Instrument) -> InstrumentView:
    found = session.scalars(
        scoped(session, actor, Calibration)
        .where(Calibration.instrument_id == row.id)
        .order_by(Calibration.calibrated_on.desc(), Calibration.id.desc())
    )
    return InstrumentView(
        id=row.id,
        name=row.name,
        kind=row.kind or None,
        serial_number=row.serial_number or None,
        note=row.note or None,
        created_at=row.created_at,
        retired_at=row.retired_at,
        calibrations=tuple(calibration_view(one) for one in found),
    )


def calibration_view(row: Calibration) -> CalibrationView:
    return CalibrationView(
        id=row.id,
        standard_uncertainty_mm=row.standard_uncertainty_mm,
        offset_u_mm=row.offset_u_mm or 0.0,
        scale_u_ppm=row.scale_u_ppm or 0.0,
        probe_radius_mm=row.probe_radius_mm,
        scale_temperature_c=row.scale_temperature_c,
        scale_expansion_per_k=row.scale_expansion_per_k or 0.0,
        repeatability_mm=row.repeatability_mm,
        repeatability_degrees_of_freedom=row.repeatability_degrees_of_freedom,
        calibrated=row.calibrated_on,
        due=row.due_on,
        laboratory=row.laboratory or None,
        document_number=row.document_number or None,
        passed=row.passed,
        note=row.note or None,
    )


def _calibrate(
    session: Session, actor: Actor, row: Instrument, calibration: CalibrationIn, now: datetime
) -> None:
    figures = {name: getattr(calibration, name) for name in FIGURES}
    added = Calibration(
        shop_id=actor.shop_id,
        instrument_id=row.id,
        calibrated_on=calibration.calibrated,
        due_on=calibration.due,
        laboratory=calibration.laboratory or "",
        document_number=calibration.document_number or "",
        passed=calibration.passed,
        note=calibration.note or "",
        recorded_by_id=actor.person_id,
        recorded_at=now,
        **figures,
    )
    session.add(added)
    session.flush()
    said = {"calibrated": added.calibrated_on.isoformat(), "due": added.due_on.isoformat()}
    audit.record(
        session, actor, "instrument.calibrated", mark(row), now,
        {**said, **figures, "passed": added.passed},
    )  # fmt: skip


def _fill(row: Instrument, instrument: InstrumentIn) -> None:
    row.name, row.kind = instrument.name, instrument.kind or ""
    row.serial_number, row.note = instrument.serial_number or "", instrument.note or ""


def _said(row: Instrument) -> dict[str, audit.Value]:
    return {"name": row.name, "kind": row.kind, "serial_number": row.serial_number}


def _require_free_name(session: Session, actor: Actor, name: str, own: int | None) -> None:
    rows = scoped(session, actor, Instrument).where(Instrument.name == name)
    known = session.scalars(rows).one_or_none()
    if known is not None and known.id != own:
        raise Conflict("instrument_name_taken", "name", met=name)
