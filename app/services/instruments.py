"""Instruments and their calibrations."""

from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy.orm import Session

from app.schemas.instrument import CalibrationIn, InstrumentIn
from app.services.permissions import Actor


@dataclass(frozen=True, slots=True)
class CalibrationView:
    """What a calibration found; lengths in mm. A calibration is never changed; a later one takes its place."""

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
    """A new instrument, with its calibration when it has one."""
    raise NotImplementedError


def read(session: Session, actor: Actor, instrument_id: int) -> InstrumentView:
    """One instrument. Raises NotFound `no_such_instrument`."""
    raise NotImplementedError


def listing(
    session: Session, actor: Actor, include_retired: bool = False
) -> tuple[InstrumentView, ...]:
    """All instruments, by name."""
    raise NotImplementedError


def update(
    session: Session, actor: Actor, instrument_id: int, instrument: InstrumentIn, now: datetime
) -> InstrumentView:
    """Renames an instrument. Raises NotFound."""
    raise NotImplementedError


def calibrate(
    session: Session, actor: Actor, instrument_id: int, calibration: CalibrationIn, now: datetime
) -> InstrumentView:
    """Adds a calibration. Raises NotFound, Conflict `instrument_retired`."""
    raise NotImplementedError


def retire(
    session: Session, actor: Actor, instrument_id: int, reason: str, now: datetime
) -> InstrumentView:
    """Takes an instrument out of use; its surveys stay. Raises NotFound, Conflict."""
    raise NotImplementedError
