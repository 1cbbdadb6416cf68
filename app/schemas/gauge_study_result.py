"""`jigbook.gauge_study_result/1`: what comes out of a gauge study, in numbers and words."""

from typing import Literal

from typing_extensions import TypedDict


class PartOfSpreadOut(TypedDict):
    deviation: float | None
    """One standard deviation, in the study's unit; None where the study does not show it."""
    share: float | None
    """Of the total's deviation; these do not add up to 1."""
    variance_share: float | None
    """Of the total's variance; these do."""


class SpreadOut(TypedDict):
    repeatability: PartOfSpreadOut
    reproducibility: PartOfSpreadOut
    interaction: PartOfSpreadOut
    gauge: PartOfSpreadOut
    """Repeatability, reproducibility and interaction together."""
    part: PartOfSpreadOut
    total: PartOfSpreadOut
    repeatability_degrees_of_freedom: float
    categories: int | None
    """Kinds of part that the gauge can tell apart; None: its readings do not scatter."""
    tolerance_share: float | None
    """Six gauge deviations over the width of the tolerance, where that was given."""


class SourceOut(TypedDict):
    source: str
    sum_of_squares: float
    degrees_of_freedom: int
    mean_square: float
    ratio: float | None
    probability: float | None
    """Of so large a ratio where there is nothing but chance."""


class AnovaOut(TypedDict):
    table: list[SourceOut]
    pooled: SpreadOut
    """The interaction counted as repeatability."""
    with_interaction: SpreadOut | None
    pool_from: float
    read: str
    """`pooled` or `with_interaction`: the one that stands, by the interaction's probability."""


class RangeOut(TypedDict):
    part: str
    person: str


class AverageRangeOut(TypedDict):
    spread: SpreadOut
    mean_range: float
    range_limit: float
    beyond: list[RangeOut]
    """Whose readings of a part lie farther apart than the limit."""
    mean_by_person: list[float]
    mean_range_by_person: list[float]
    people_range: float
    part_range: float


class GaugeStudyOut(TypedDict):
    format: Literal["jigbook.gauge_study_result/1"]
    instrument: str | None
    quantity: str | None
    unit: str
    parts: list[str]
    people: list[str]
    trials: int
    anova: AnovaOut
    average_range: AverageRangeOut
    sentence: str
