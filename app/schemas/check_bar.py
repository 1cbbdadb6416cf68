"""A bar of known length, and readings of it, as a page or the API sends them."""

from typing import Annotated, Self

from pydantic import Field, model_validator

from app.schemas.form import Form, Identity, Ticked
from app.schemas.instrument import require_due_after
from app.schemas.sent import (
    Celsius,
    Day,
    Line,
    Moment,
    PerKelvin,
    PerKelvinU,
    Positive,
    Prose,
    Uncertainty,
)

MOST_READINGS = 50

Length = Annotated[float, Field(strict=True, allow_inf_nan=False, ge=10.0, le=1e5)]


class CheckBarIn(Form):
    """What a bar's calibration certificate says; lengths in mm at 20 °C.

    A bar calibrated again is recorded again under its name.
    """

    name: Line
    serial_number: Line | None = None
    length_mm: Length
    length_u_mm: Uncertainty
    """Standard uncertainty: half of an expanded one with k = 2."""
    expansion_per_k: PerKelvin
    expansion_u_per_k: PerKelvinU = 1e-6
    calibrated: Day
    due: Day | None = None
    laboratory: Line | None = None
    document_number: Line | None = None
    note: Prose | None = None

    @model_validator(mode="after")
    def _due_after_calibrated(self) -> Self:
        if self.due is not None:
            require_due_after(self.calibrated, self.due)
        return self


class BarReadingIn(Form):
    """The bar measured once or several times in a row."""

    check_bar_id: Identity
    measured_at: Moment
    measured_by: Line | None = None
    """Else the person who records it."""
    temperature_c: Celsius
    """Of the bar."""
    temperature_u_k: Positive = 1.0
    readings_mm: Annotated[tuple[Length, ...], Field(min_length=1, max_length=MOST_READINGS)]
    note: Prose | None = None


class ExplanationIn(Form):
    """Why a reading was out of control, and what was done about it."""

    reason: Prose
    begin_anew: Ticked = False
    """The chart starts again after it: the instrument was adjusted, say."""
