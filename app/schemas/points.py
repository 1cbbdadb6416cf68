"""One point of a survey, and what each feature asks of its label, station and offset."""

from typing import Annotated, Literal, Self

from pydantic import Field
from pydantic.functional_validators import AfterValidator, model_validator

from app.chassis.survey import FEATURES
from app.errors import Problem
from app.schemas.sent import (
    Coordinate,
    Name,
    NotNegative,
    Number,
    Sent,
    Uncertainty,
    require_sound,
    wrong,
)

WITH_NORMAL = frozenset({"pivot_face", "head_face", "axle_face", "front_rim", "rear_rim"})
"""Features with an outward normal: only these may carry an offset."""

LABELS: dict[str, tuple[str, ...]] = {
    "pivot_face": ("left", "right"),
    "level_line": ("rear", "front"),
    "axle_face": ("left", "right"),
    "fork_leg": ("left", "right"),
    "front_rim": ("left", "right"),
    "rear_rim": ("left", "right"),
}
"""Features whose label is one of a closed set."""

NAMED = frozenset({"steer_target", "control", "axis", "pair"})
"""Features whose label is the name of the target, point, axis or pair."""

PAIR_SIDES = (".left", ".right")

Label = Annotated[str, Field(pattern=r"^[a-z0-9_]+(\.[a-z0-9_]+)?$", max_length=120)]
Covariance = tuple[Number, Number, Number, Number, Number, Number]


def _known(feature: str) -> str:
    if feature not in FEATURES:
        raise wrong(Problem("unknown_feature", "", {"feature": feature}))
    return feature


class PointIn(Sent):
    """One measured position; `cov` is xx, xy, xz, yy, yz, zz in mm², instrument axes."""

    feature: Annotated[
        str, AfterValidator(_known), Field(json_schema_extra={"enum": sorted(FEATURES)})
    ]
    label: Label | None = None
    station: Name | None = None
    x: Coordinate
    y: Coordinate
    z: Coordinate
    u: Uncertainty | None = None
    offset: NotNegative | None = None
    turn: Literal["left", "right"] | None = None
    cov: Covariance | None = None

    @model_validator(mode="after")
    def _fits_its_feature(self) -> Self:
        require_sound([*self._label_problems(), *self._other_problems()])
        return self

    def _label_problems(self) -> list[Problem]:
        facts = {"feature": self.feature, "met": self.label}
        if self.feature in LABELS and self.label not in LABELS[self.feature]:
            return [Problem("wrong_label", "label", {**facts, "allowed": LABELS[self.feature]})]
        if self.feature in NAMED and self.label is None:
            return [Problem("label_missing", "label", facts)]
        is_side = self.label is not None and self.label.endswith(PAIR_SIDES)
        if self.feature == "pair" and not is_side:
            return [Problem("pair_without_side", "label", facts)]
        if self.feature != "pair" and self.label is not None and "." in self.label:
            return [Problem("not_a_name", "label", facts)]
        return []

    def _other_problems(self) -> list[Problem]:
        problems = []
        facts = {"feature": self.feature}
        if self.feature == "steer_target" and self.station is None:
            problems.append(Problem("station_missing", "station", facts))
        if self.offset is not None and self.feature not in WITH_NORMAL:
            problems.append(
                Problem("offset_without_normal", "offset", {**facts, "met": self.offset})
            )
        if self.turn is not None and self.feature != "steer_target":
            problems.append(Problem("turn_without_steering", "turn", facts))
        return problems
