"""`jigbook.check_bar/1`: a bar of known length and readings of it in order of time, as a file."""

from typing import Annotated, Literal

from pydantic import Field
from typing_extensions import TypedDict

from app.schemas.check_bar import MOST_READINGS, Length
from app.schemas.json_text import read_json, text_of
from app.schemas.reading import checked, require_format
from app.schemas.sent import (
    Celsius,
    Flag,
    Line,
    Moment,
    PerKelvin,
    PerKelvinU,
    Positive,
    Prose,
    Sent,
    Uncertainty,
)
from app.schemas.survey import InstrumentIn

CHECK_BAR_FORMAT = "jigbook.check_bar/1"
LONGEST_LOG = 2000


class BarIn(Sent):
    """The bar as calibrated, mm at 20 °C."""

    length_mm: Length
    length_u_mm: Uncertainty
    expansion_per_k: PerKelvin
    expansion_u_per_k: PerKelvinU = 1e-6
    name: Line | None = None


class LoggedReadingIn(Sent):
    temperature_c: Celsius
    readings_mm: Annotated[tuple[Length, ...], Field(min_length=1, max_length=MOST_READINGS)]
    temperature_u_k: Positive = 1.0
    measured_at: Moment | None = None
    by: Line | None = None
    note: Prose | None = None
    explanation: Prose | None = None
    """Why it was out of control."""
    begin_anew: Flag = False
    """The chart starts again after it."""


class CheckBarLogIn(Sent):
    """Readings stand in order of time."""

    format: Literal["jigbook.check_bar/1"]
    bar: BarIn
    readings: Annotated[tuple[LoggedReadingIn, ...], Field(max_length=LONGEST_LOG)]
    instrument: InstrumentIn = InstrumentIn.model_construct()


class ChartOut(TypedDict):
    centre: float
    lower: float
    upper: float
    moving_range: float
    upper_range: float
    average: float
    average_lower: float
    average_upper: float


class JudgedReadingOut(TypedDict):
    measured_at: str | None
    deviation_mm: float
    """Mean of the readings at 20 °C minus the bar's length."""
    deviation_u_mm: float | None
    in_control: bool
    signals: list[str]
    says: list[str]
    chart: ChartOut | None
    """None: too few sound readings before it for a chart, or none that scatter."""
    explained: bool


class CheckBarResultOut(TypedDict):
    format: Literal["jigbook.check_bar_result/1"]
    standing: str
    """`never_checked`, `in_control`, or `out_of_control`: a reading waits to be explained."""
    readings: list[JudgedReadingOut]


def read_check_bar_log(content: bytes) -> CheckBarLogIn:
    """Return the log in a file's bytes; raises BadInput, `not_a_check_bar_log` when it is none."""
    sent = read_json(text_of(content))
    require_format(sent, CHECK_BAR_FORMAT, "not_a_check_bar_log", "readings")
    return checked(CheckBarLogIn, sent)
