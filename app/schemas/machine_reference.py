"""What a reference from measured machines is made from, and the report that goes with it."""

from typing import Annotated, Literal

from pydantic import Field
from typing_extensions import TypedDict

from app.schemas.form import Identity
from app.schemas.reference import MachineModelIn, ReferenceIn
from app.schemas.sent import Line, Sent
from app.schemas.survey import SurveyIn

MOST_MACHINES = 100
MOST_LEFT_OUT = 20
LOWEST, HIGHEST = 0.5, 0.999
LOWEST_SIGNIFICANCE, HIGHEST_SIGNIFICANCE = 0.001, 0.2

Probability = Annotated[float, Field(strict=True, allow_inf_nan=False, ge=LOWEST, le=HIGHEST)]
Significance = Annotated[
    float,
    Field(strict=True, allow_inf_nan=False, ge=LOWEST_SIGNIFICANCE, le=HIGHEST_SIGNIFICANCE),
]
Reason = Annotated[Line, Field(max_length=100)]
MachineName = Annotated[Line, Field(max_length=60)]


class StatisticsIn(Sent):
    """How the machines are described."""

    content: Probability = 0.9
    """The part of all such machines that lies within the limits."""
    confidence: Probability = 0.95
    """How sure that is."""
    significance: Significance = 0.05
    """Of the outlier test: how often it takes a machine in order for an outlier."""


class MachineSurveyIn(Sent):
    name: MachineName
    survey: SurveyIn
    left_out_because: Reason | None = None


class FromSurveysIn(StatisticsIn):
    """`base` gives levelling, materials, control points and the rest that no machine tells."""

    surveys: Annotated[tuple[MachineSurveyIn, ...], Field(max_length=MOST_MACHINES)]
    base: ReferenceIn | None = None
    machine: MachineModelIn | None = None


class MeasurementIn(Sent):
    job: Line
    survey: Identity
    """Its number within the job."""
    left_out_because: Reason | None = None


class FromJobsIn(StatisticsIn):
    measurements: Annotated[tuple[MeasurementIn, ...], Field(max_length=MOST_MACHINES)]
    base_reference_id: Identity | None = None
    base_revision: Identity | None = None
    """The latest one unless told."""
    machine: MachineModelIn | None = None


class OutlierTestOut(TypedDict):
    machine: str
    """Which stands farthest from the mean."""
    statistic: float
    critical: float
    outlier: bool


class MachineValueOut(TypedDict):
    machine: str
    value: float
    standard_uncertainty: float
    left_out: bool


class MachineStatisticsOut(TypedDict):
    key: str
    name: str
    unit: str
    machines: int
    mean: float
    mean_sense: str
    """The mean with its direction in words."""
    standard_uncertainty: float
    """Of the mean."""
    degrees_of_freedom: float | None
    expanded_uncertainty: float
    deviation: float
    """Standard deviation between the machines as measured, measurement included."""
    measurement_uncertainty: float
    """What is independent in the uncertainty of one machine's value: it is part of `deviation`."""
    shared_uncertainty: float
    """What the measurements have in common: it is not averaged down."""
    factor: float
    lower: float
    upper: float
    """Limits as deviations from the mean."""
    in_reference: bool
    scatter_below_measurement: bool
    """The machines differ less than the measurements are uncertain."""
    narrower_than_measuring: bool
    """One measurement such as these could not decide against these limits."""
    outlier_test: OutlierTestOut
    values: list[MachineValueOut]


class MachineOut(TypedDict):
    name: str
    instrument: str | None
    left_out_because: str | None


class ReportWarningOut(TypedDict):
    code: str
    message: str
    feature: str | None


class ReferenceReportOut(TypedDict):
    format: Literal["jigbook.reference_report/1"]
    engine_version: str
    content: float
    confidence: float
    significance: float
    machines: list[MachineOut]
    characteristics: list[MachineStatisticsOut]
    warnings: list[ReportWarningOut]
    sentences: list[str]
    """What the limits mean, and what they do not."""


class MachineReferenceOut(TypedDict):
    reference: dict[str, object]
    """A `jigbook.reference/1` document, not stored."""
    report: ReferenceReportOut
