"""An instrument and its calibration as a page or the API sends them."""

from datetime import date
from typing import Annotated, Self

from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from app.schemas.form import Form, Line, Paragraph


class InstrumentIn(Form):
    name: Line
    kind: Line | None = None
    """What it is, in the shop's own words: measuring arm, total station, height gauge."""
    serial_number: Line | None = None


class CalibrationIn(Form):
    """What a calibration certificate says of the instrument; lengths in mm."""

    standard_uncertainty_mm: Annotated[float, Field(gt=0, le=10)]
    offset_u_mm: Annotated[float, Field(ge=0, le=10)] = 0.0
    scale_u_ppm: Annotated[float, Field(ge=0, le=10_000)] = 0.0
    probe_radius_mm: Annotated[float, Field(ge=0, le=100)] | None = None
    scale_temperature_c: Annotated[float, Field(ge=-40, le=80)] | None = None
    scale_expansion_per_k: Annotated[float, Field(ge=0, le=1e-3)] = 0.0
    repeatability_mm: Annotated[float, Field(gt=0, le=10)] | None = None
    repeatability_degrees_of_freedom: Annotated[float, Field(ge=1, le=1e6)] | None = None
    calibrated: date
    due: date
    laboratory: Line | None = None
    certificate_number: Line | None = None
    note: Paragraph | None = None

    @model_validator(mode="after")
    def _due_after_calibrated(self) -> Self:
        if self.due < self.calibrated:
            raise PydanticCustomError(
                "due_before_calibrated",
                "due before calibrated",
                {"calibrated": self.calibrated.isoformat(), "due": self.due.isoformat()},
            )
        return self
