"""An instrument and its calibration as a page or the API sends them."""

from collections.abc import Iterator
from typing import Annotated, Self

from pydantic import Field, model_validator

from app.errors import Problem
from app.schemas.form import Form, ShortLine, Ticked
from app.schemas.sent import (
    Celsius,
    Day,
    Line,
    NotNegative,
    Positive,
    Prose,
    Uncertainty,
    require_sound,
)

Expansion = Annotated[float, Field(strict=True, allow_inf_nan=False, ge=-1e-3, le=1e-3)]


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
    scale_expansion_per_k: Expansion = 0.0
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
        require_sound(list(self._days_out_of_order()))
        return self

    def _days_out_of_order(self) -> Iterator[Problem]:
        if self.due < self.calibrated:
            facts = {"calibrated": self.calibrated.isoformat(), "due": self.due.isoformat()}
            yield Problem("due_before_calibrated", "due", facts)
