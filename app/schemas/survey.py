"""`jigbook.survey/1`: one submitted set of points, in the instrument's axes, mm.

Readings are kept as they were sent; nothing is corrected, rounded or filled in here.
"""

from collections.abc import Iterator
from math import hypot
from typing import Annotated, Literal, Self

from pydantic import Field
from pydantic.functional_validators import model_validator

from app.chassis.features import OF_THE_HEAD
from app.errors import Problem
from app.schemas.points import PointIn
from app.schemas.sent import (
    Celsius,
    Coordinate,
    Day,
    Flag,
    Line,
    Moment,
    Name,
    NotNegative,
    Number,
    Positive,
    Prose,
    Sent,
    Uncertainty,
    require_sound,
)

SURVEY_FORMAT = "jigbook.survey/1"
MOST_POINTS = 5000
MOST_STATIONS = 60
MOST_TARGETS = 20
MOST_FURTHER = 800
"""Points beyond the head: each is carried with its derivatives by all."""
SHORTEST_UP = 1e-3

HOW_MANY = (
    f"steering targets: at most {MOST_TARGETS}, at {MOST_STATIONS} stations of the steering at "
    f"most; points beyond the head: at most {MOST_FURTHER}"
)

Phase = Literal["before", "during", "after"]
Direction = tuple[Coordinate, Coordinate, Coordinate]
TargetSpacing = tuple[Name, Name, Positive, Uncertainty]
"""Two targets' names, their distance in mm, its standard uncertainty in mm."""


class InstrumentIn(Sent):
    """What is known of the instrument, from its calibration."""

    name: Line | None = None
    standard_uncertainty_mm: Uncertainty | None = None
    offset_u_mm: NotNegative = 0.0
    scale_u_ppm: NotNegative = 0.0
    probe_radius_mm: NotNegative | None = None
    calibrated: Day | None = None
    due: Day | None = None
    scale_temperature_c: Celsius | None = None
    scale_expansion_per_k: Annotated[
        float, Field(strict=True, allow_inf_nan=False, ge=-1e-3, le=1e-3)
    ] = 0.0
    repeatability_mm: Uncertainty | None = None
    repeatability_degrees_of_freedom: Positive | None = None


class RigIn(Sent):
    target_spacing_mm: Annotated[tuple[TargetSpacing, ...], Field(max_length=100)] = ()


class SidesIn(Sent):
    """One reading for each side."""

    left: Number | None = None
    right: Number | None = None


class SurveyIn(Sent):
    format: Literal["jigbook.survey/1"]
    points: Annotated[
        tuple[PointIn, ...],
        Field(max_length=MOST_POINTS, description=HOW_MANY, json_schema_extra={"minItems": 1}),
    ]
    phase: Phase | None = None
    measured_at: Moment | None = None
    by: Line | None = None
    mounting: Prose | None = None
    part_temperature_c: Celsius | None = None
    part_temperature_u_k: (
        Annotated[float, Field(strict=True, allow_inf_nan=False, ge=0.0, le=50.0)] | None
    ) = None
    after_ride_in: Flag = False
    up: Annotated[Direction | None, Field(description=f"at least {SHORTEST_UP:g} long")] = None
    instrument: InstrumentIn = InstrumentIn.model_construct()
    rig: RigIn = RigIn.model_construct()
    chain_adjusters: SidesIn | None = None
    fork_runout_mm: SidesIn | None = None

    @model_validator(mode="after")
    def _hangs_together(self) -> Self:
        require_sound(
            [
                *self._without_points(),
                *self._without_uncertainty(),
                *self._up_without_direction(),
                *self._too_many(),
            ]
        )
        return self

    def _without_points(self) -> list[Problem]:
        if self.points:
            return []
        return [Problem("too_few_points", "points", {"met": 0, "needed": 1, "reason": "none"})]

    def _without_uncertainty(self) -> list[Problem]:
        if self.instrument.standard_uncertainty_mm is not None:
            return []
        return [
            Problem("no_uncertainty", f"points.{index}.u", {"feature": point.feature})
            for index, point in enumerate(self.points)
            if point.u is None and point.cov is None
        ]

    def _up_without_direction(self) -> list[Problem]:
        length = SHORTEST_UP if self.up is None else hypot(*self.up)
        if length < SHORTEST_UP:
            facts = {"length": length, "limit": SHORTEST_UP}
            return [Problem("up_without_direction", "up", facts)]
        return []

    def _too_many(self) -> Iterator[Problem]:
        steering = [point for point in self.points if point.feature == "steer_target"]
        stations = len({point.station for point in steering})
        if stations > MOST_STATIONS:
            facts = {"met": stations, "limit": MOST_STATIONS}
            yield Problem("too_many_stations", "points", facts)
        further = sum(point.feature not in OF_THE_HEAD for point in self.points)
        if further > MOST_FURTHER:
            yield Problem("too_many_further", "points", {"met": further, "limit": MOST_FURTHER})
        targets = len({point.label for point in steering})
        if targets > MOST_TARGETS:
            yield Problem("too_many_targets", "points", {"met": targets, "limit": MOST_TARGETS})
