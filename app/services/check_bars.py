"""Bars of known length, and the readings that show whether an instrument still reads right."""

import json
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy.orm import Session

from app.errors import Conflict, NotFound
from app.metrology import check_bar
from app.records.columns import UTC
from app.records.scope import scoped
from app.records.tables import CheckBar, CheckBarExplanation, CheckBarReading
from app.schemas.check_bar import BarReadingIn, CheckBarIn, ExplanationIn
from app.services import audit
from app.services.check_bar_log import (
    BarReadingView,
    CheckBarLog,
    log_of,
    reading_rows,
    reading_view,
    sound_before,
)
from app.services.instruments import CalibrationView, instrument_row, mark, usable_instrument
from app.services.instruments import view as instrument_view
from app.services.lookup import by_id
from app.services.permissions import Actor, require
from app.services.search import page
from app.services.survey_documents import require_past

__all__ = ["BarReadingView", "CheckBarLog"]


@dataclass(frozen=True, slots=True)
class CheckBarView:
    """One calibration of a bar; lengths in mm at 20 °C."""

    id: int
    name: str
    serial_number: str | None
    length_mm: float
    length_u_mm: float
    expansion_per_k: float
    expansion_u_per_k: float
    calibrated: date
    due: date | None
    laboratory: str | None
    document_number: str | None
    note: str | None

    def in_calibration(self, day: date) -> bool:
        """Whether its length was known on this day, first and last day included."""
        return self.calibrated <= day and (self.due is None or day <= self.due)


def add_bar(session: Session, actor: Actor, bar: CheckBarIn, now: datetime) -> CheckBarView:
    """Records a calibration of a bar. Raises Conflict `check_bar_known`."""
    require(actor, "instruments.write")
    known = scoped(session, actor, CheckBar).where(
        CheckBar.name == bar.name, CheckBar.calibrated_on == bar.calibrated
    )
    if session.scalars(known).first() is not None:
        day = bar.calibrated.isoformat()
        raise Conflict("check_bar_known", "name", met=bar.name, calibrated=day)
    row = CheckBar(
        shop_id=actor.shop_id,
        name=bar.name,
        serial_number=bar.serial_number or "",
        length_mm=bar.length_mm,
        length_u_mm=bar.length_u_mm,
        expansion_per_k=bar.expansion_per_k,
        expansion_u_per_k=bar.expansion_u_per_k,
        calibrated_on=bar.calibrated,
        due_on=bar.due,
        laboratory=bar.laboratory or "",
        document_number=bar.document_number or "",
        note=bar.note or "",
        recorded_by_id=actor.person_id,
        recorded_at=now,
    )
    session.add(row)
    session.flush()
    said: dict[str, audit.Value] = {
        "name": row.name,
        "length_mm": row.length_mm,
        "length_u_mm": row.length_u_mm,
        "calibrated": bar.calibrated.isoformat(),
        "due": None if bar.due is None else bar.due.isoformat(),
    }
    audit.record(session, actor, "check_bar.calibrated", f"check_bar:{row.id}", now, said)
    return bar_view(row)


def bars(session: Session, actor: Actor) -> tuple[CheckBarView, ...]:
    """All bars by name, the newest calibration of each first."""
    require(actor, "instruments.read")
    rows = scoped(session, actor, CheckBar).order_by(CheckBar.name, CheckBar.calibrated_on.desc())
    return tuple(bar_view(row) for row in session.scalars(rows))


def record_reading(
    session: Session, actor: Actor, instrument_id: int, reading: BarReadingIn, now: datetime
) -> BarReadingView:
    """Records the bar measured with an instrument, and says whether it still reads right.

    Raises NotFound `no_such_instrument`, `no_such_check_bar`, Conflict `instrument_retired`,
    `check_bar_out_of_calibration`, BadInput `in_the_future`.
    """
    require(actor, "instruments.check")
    instrument = usable_instrument(session, actor, instrument_id)
    bar = by_id(session, actor, CheckBar, reading.check_bar_id, "no_such_check_bar")
    _require_known_length(bar, reading, now)
    day = reading.measured_at.date()
    calibration = instrument_view(session, actor, instrument).calibration_on(day)
    found = check_bar.deviation(
        bar_of(bar),
        _claim(calibration),
        reading.readings_mm,
        reading.temperature_c,
        reading.temperature_u_k,
    )
    row = _reading_row(actor, instrument.id, calibration, reading, found, now)
    sound = sound_before(reading_rows(session, actor, instrument.id), row)
    row.signals = " ".join(check_bar.signals(found, check_bar.limits(sound, found.value)))
    session.add(row)
    session.flush()
    said: dict[str, audit.Value] = {
        "reading": row.id,
        "check_bar": bar.id,
        "measured_at": row.measured_at.astimezone(UTC).isoformat(),
        "deviation_mm": row.deviation_mm,
        "deviation_u_mm": row.deviation_u_mm,
        "signals": row.signals,
    }
    audit.record(session, actor, "instrument.check_bar_measured", mark(instrument), now, said)
    return reading_view(session, actor, row)


def _reading_row(
    actor: Actor,
    instrument_id: int,
    calibration: CalibrationView | None,
    reading: BarReadingIn,
    found: check_bar.Deviation,
    now: datetime,
) -> CheckBarReading:
    return CheckBarReading(
        shop_id=actor.shop_id,
        instrument_id=instrument_id,
        check_bar_id=reading.check_bar_id,
        calibration_id=None if calibration is None else calibration.id,
        measured_at=reading.measured_at,
        measured_by=reading.measured_by or actor.name,
        temperature_c=reading.temperature_c,
        temperature_u_k=reading.temperature_u_k,
        readings=json.dumps(reading.readings_mm),
        deviation_mm=found.value,
        deviation_u_mm=found.standard_uncertainty,
        note=reading.note or "",
        recorded_by_id=actor.person_id,
        recorded_at=now,
    )


def explain(
    session: Session,
    actor: Actor,
    instrument_id: int,
    reading_id: int,
    explanation: ExplanationIn,
    now: datetime,
) -> BarReadingView:
    """Says why a reading was out of control; from then on it stands against no certificate.

    Raises NotFound `no_such_instrument`, `no_such_reading`, Conflict `reading_in_control`,
    `reading_explained`.
    """
    require(actor, "instruments.explain")
    instrument = instrument_row(session, actor, instrument_id)
    row = by_id(session, actor, CheckBarReading, reading_id, "no_such_reading")
    if row.instrument_id != instrument.id:
        raise NotFound("no_such_reading", None, met=reading_id)
    if not row.signals:
        raise Conflict("reading_in_control")
    known = scoped(session, actor, CheckBarExplanation).where(
        CheckBarExplanation.reading_id == row.id
    )
    if session.scalars(known).first() is not None:
        raise Conflict("reading_explained")
    session.add(
        CheckBarExplanation(
            shop_id=actor.shop_id,
            reading_id=row.id,
            reason=explanation.reason,
            begin_anew=explanation.begin_anew,
            person_id=actor.person_id,
            at=now,
        )
    )
    session.flush()
    said: dict[str, audit.Value] = {
        "reading": row.id,
        "reason": explanation.reason,
        "begin_anew": explanation.begin_anew,
    }
    audit.record(session, actor, "instrument.check_bar_explained", mark(instrument), now, said)
    return reading_view(session, actor, row)


def log(
    session: Session, actor: Actor, instrument_id: int, limit: int = 50, offset: int = 0
) -> CheckBarLog:
    """Where an instrument stands, and its newest readings. Raises NotFound `no_such_instrument`."""
    require(actor, "instruments.read")
    limit, offset = page(limit, offset)
    instrument = instrument_row(session, actor, instrument_id)
    return log_of(session, actor, instrument.id, limit, offset)


def bar_view(row: CheckBar) -> CheckBarView:
    return CheckBarView(
        id=row.id,
        name=row.name,
        serial_number=row.serial_number or None,
        length_mm=row.length_mm,
        length_u_mm=row.length_u_mm,
        expansion_per_k=row.expansion_per_k,
        expansion_u_per_k=row.expansion_u_per_k,
        calibrated=row.calibrated_on,
        due=row.due_on,
        laboratory=row.laboratory or None,
        document_number=row.document_number or None,
        note=row.note or None,
    )


def bar_of(row: CheckBar) -> check_bar.Bar:
    """The bar as the formulas take it."""
    return check_bar.Bar(row.length_mm, row.length_u_mm, row.expansion_per_k, row.expansion_u_per_k)


def _claim(calibration: CalibrationView | None) -> check_bar.Claim:
    if calibration is None:
        return check_bar.Claim(None)
    return check_bar.Claim(
        calibration.standard_uncertainty_mm,
        calibration.scale_u_ppm,
        calibration.scale_temperature_c,
        calibration.scale_expansion_per_k,
    )


def _require_known_length(bar: CheckBar, reading: BarReadingIn, now: datetime) -> None:
    require_past(reading.measured_at, now)
    if not bar_view(bar).in_calibration(reading.measured_at.date()):
        due = None if bar.due_on is None else bar.due_on.isoformat()
        raise Conflict(
            "check_bar_out_of_calibration",
            "check_bar_id",
            met=bar.name,
            calibrated=bar.calibrated_on.isoformat(),
            due=due,
        )
