"""`jigbook.result/1`: what the engine answers, in numbers, codes and words.

Typed dictionaries, not models: they cost nothing at start-up, go to JSON as they are, and a
stored answer is read again as what it was. Answers may gain keys within /1.
"""

from typing import Annotated, Literal, NotRequired

from pydantic import Field
from typing_extensions import TypedDict

from app.schemas.comparing import ChangeOut, CombinedOut, SharedOut
from app.schemas.planning import PlanOut

# Codes come from the engine as plain texts; that these are all of them is told to readers of the
# JSON schema and tested, not asserted to the type checker.
Verdict = Annotated[
    str, Field(json_schema_extra={"enum": ["within", "outside", "undecided", "no_tolerance"]})
]
OverallVerdict = Annotated[
    str, Field(json_schema_extra={"enum": ["within", "outside", "undecided"]})
]
RigVerdict = Annotated[str, Field(json_schema_extra={"enum": ["steady", "moved", "not_checked"]})]
RigScope = Annotated[
    str,
    Field(
        json_schema_extra={"enum": ["datum_and_steering", "steering_only", "datum_only", "none"]}
    ),
]
NoiseVerdict = Annotated[
    str, Field(json_schema_extra={"enum": ["as_claimed", "noisier", "not_checked"]})
]
Orientation = Annotated[str, Field(json_schema_extra={"enum": ["checked", "not_checked"]})]
Unit = Annotated[str, Field(json_schema_extra={"enum": ["deg", "mm"]})]
Side = Annotated[str, Field(json_schema_extra={"enum": ["above", "below"]})]
ElementKind = Annotated[str, Field(json_schema_extra={"enum": ["segment", "point", "circle"]})]


class ShareOut(TypedDict):
    source: str
    share: float
    reduce: str
    """What would make this source smaller, in words; missing in results of earlier days."""


class CharacteristicOut(TypedDict):
    key: str
    name: str
    """The characteristic's name in words."""
    unit: Unit
    value: float
    standard_uncertainty: float
    degrees_of_freedom: float | None
    """None: infinite."""
    expanded_uncertainty: float
    coverage_factor: float
    nominal: float | None
    deviation: float | None
    lower: float | None
    upper: float | None
    required: bool
    probability_within: float | None
    probability_above: float | None
    probability_below: float | None
    verdict: Verdict
    side: Side | None
    cannot_decide: bool
    set_by_levelling: bool
    sense_code: str
    sense: str
    """The deviation, or without a nominal the value, with its direction in words: no minus."""
    value_sense: str
    """The value itself with its direction in words."""
    budget: list[ShareOut]


class HandlingFigureOut(TypedDict):
    name: str
    value: float
    """Millimetres; positive to the left, trail positive with the contact behind the axis."""
    standard_uncertainty: float
    sense_code: str
    sense: str
    """The value with its direction in words: no minus."""


class FindingOut(TypedDict):
    verdict: OverallVerdict
    probability_all: float | None
    required: int
    missing: list[str]
    sentence: str


class RigCheckOut(TypedDict):
    verdict: RigVerdict
    scope: RigScope
    statistic: float | None
    limit: float | None
    degrees_of_freedom: int | None
    detectable_slip_mm: float | None
    sentence: str


class NoiseCheckOut(TypedDict):
    verdict: NoiseVerdict
    statistic: float | None
    limit: float | None
    degrees_of_freedom: int | None
    sentence: str


class CovarianceOut(TypedDict):
    keys: list[str]
    matrix: list[list[float]]


class WarningOut(TypedDict):
    code: str
    message: str
    feature: str | None


class OutlineElementOut(TypedDict):
    name: str
    kind: ElementKind
    points: list[list[float]]
    radius: float | None


class OutlineOut(TypedDict):
    measured: list[OutlineElementOut]
    reference: list[OutlineElementOut]
    levelled: bool


class DistributionOut(TypedDict):
    """What the trials tell of a characteristic; low, high: shortest interval of 95 %."""

    key: str
    mean: float
    standard_uncertainty: float | None
    low: float
    high: float
    digits: int | None
    """Significant digits of the standard uncertainty to which all this stands still."""
    first_order_low: float
    first_order_high: float
    tolerance: float
    first_order_validated: bool
    """Whether first order's ends agree with these to within the tolerance."""
    unsolved: int


class MonteCarloOut(TypedDict):
    trials: int
    seed: int
    digits: int | None
    """Asked for."""
    stable: bool | None
    """Whether they were reached; None: not asked for."""
    needed: bool
    """First order does not suffice, so that the trials were made unasked."""
    characteristics: list[DistributionOut]
    sentence: str


class ResultOut(TypedDict):
    format: Literal["jigbook.result/1"]
    engine_version: str
    levelling: str | None
    levelled_by: NotRequired[list[str]]
    """Names of the control points that levelled it; empty under any other rule."""
    threshold: float
    finding: FindingOut
    rig_check: RigCheckOut
    noise_check: NoiseCheckOut
    orientation: Orientation
    characteristics: list[CharacteristicOut]
    covariance: CovarianceOut
    handling: dict[str, HandlingFigureOut]
    """Figures for information, by name; what lacks an input is left out. Missing in results that
    were stored before there was any."""
    fork_bend_mm: dict[str, float]
    """By side of the fork: half the total indicator reading on V-blocks; empty without readings.
    Missing in results of earlier days."""
    warnings: list[WarningOut]
    outline: OutlineOut
    """What the drawings need: elements in machine axes, mm."""
    shared: NotRequired[SharedOut]
    """Missing in results of earlier days: nothing is then taken as shared."""
    plan: NotRequired[PlanOut]
    """What to measure next, where that was asked for."""
    combined: NotRequired[CombinedOut]
    """Of a result from several surveys."""
    change: NotRequired[ChangeOut]
    """Against a survey before, where that was asked for."""
    monte_carlo: NotRequired[MonteCarloOut]
    """Of the trials, where they were asked for or first order did not suffice."""


class ErrorOut(TypedDict):
    code: str
    message: str
    feature: str | None
