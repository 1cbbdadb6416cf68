"""An instrument and its calibration as a page or the API sends them."""

from datetime import date
from typing import Self

from pydantic import model_validator

from app.errors import Problem
from app.schemas.form import Form, ShortLine, Ticked
from app.schemas.sent import (
    Celsius,
    Day,
    Line,
    NotNegative,
    PerKelvin,
    Positive,
    Prose,
    Uncertainty,
    require_sound,
)


class InstrumentIn(Form):
    name: Line
    kind: ShortLine | None = None
    """What it is, in the shop's own words: measuring arm, total station, height gauge."""
    serial_number: Line | None = None
    note: Prose | None = None


class CalibrationIn(Form):
    """What a calibration certificate says of the instrument; lengths in mm."""

    standard_uncertainty_mm: Uncertainty
    offset_u_mm: NotNegative = 0.0
    scale_u_ppm: NotNegative = 0.0
    probe_radius_mm: NotNegative | None = None
    scale_temperature_c: Celsius | None = None
    scale_expansion_per_k: PerKelvin = 0.0
    repeatability_mm: Uncertainty | None = None
    repeatability_degrees_of_freedom: Positive | None = None
    calibrated: Day
    due: Day
    laboratory: Line | None = None
    document_number: Line | None = None
    """Number of the calibration certificate."""
    passed: Ticked = True
    note: Prose | None = None

    @model_validator(mode="after")
    def _due_after_calibrated(self) -> Self:
        require_due_after(self.calibrated, self.due)
        return self


def require_due_after(calibrated: date, due: date) -> None:
    """Raise a validator's `due_before_calibrated` when a calibration ends before it begins."""
    if due < calibrated:
        facts = {"calibrated": calibrated.isoformat(), "due": due.isoformat()}
        require_sound([Problem("due_before_calibrated", "due", facts)])
