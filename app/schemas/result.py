"""`jigbook.result/1`: what the engine answers, in numbers, codes and words.

Typed dictionaries, not models: they cost nothing at start-up, go to JSON as they are, and a
stored answer is read again as what it was. Answers may gain keys within /1.
"""

from typing import Literal

from typing_extensions import TypedDict

RESULT_FORMAT = "jigbook.result/1"

Verdict = Literal["within", "outside", "undecided", "no_tolerance"]


class ShareOut(TypedDict):
    source: str
    share: float


class CharacteristicOut(TypedDict):
    key: str
    name: str
    """The characteristic's name in words."""
    unit: Literal["deg", "mm"]
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
    side: Literal["above", "below"] | None
    cannot_decide: bool
    set_by_levelling: bool
    sense_code: str
    sense: str
    """Value and direction in words, never with a minus sign."""
    budget: list[ShareOut]


class FindingOut(TypedDict):
    verdict: Literal["within", "outside", "undecided"]
    probability_all: float | None
    required: int
    missing: list[str]
    sentence: str


class RigCheckOut(TypedDict):
    verdict: Literal["steady", "moved", "not_checked"]
    scope: Literal["datum_and_steering", "steering_only", "datum_only", "none"]
    statistic: float | None
    limit: float | None
    degrees_of_freedom: int | None
    detectable_slip_mm: float | None
    sentence: str


class NoiseCheckOut(TypedDict):
    verdict: Literal["as_claimed", "noisier", "not_checked"]
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
    kind: Literal["segment", "point", "circle"]
    points: list[list[float]]
    radius: float | None


class OutlineOut(TypedDict):
    measured: list[OutlineElementOut]
    reference: list[OutlineElementOut]
    levelled: bool


class ResultOut(TypedDict):
    format: Literal["jigbook.result/1"]
    engine_version: str
    levelling: str | None
    threshold: float
    finding: FindingOut
    rig_check: RigCheckOut
    noise_check: NoiseCheckOut
    orientation: Literal["checked", "not_checked"]
    characteristics: list[CharacteristicOut]
    covariance: CovarianceOut
    warnings: list[WarningOut]
    outline: OutlineOut
    """What the drawings need: elements in machine axes, mm."""


class ErrorOut(TypedDict):
    code: str
    message: str
    feature: str | None
