"""`jigbook.reference/1`: nominal geometry and tolerances of a model, with where they come from."""

from collections.abc import Iterator
from typing import Annotated, Literal, Self

from pydantic import Field
from pydantic.functional_validators import model_validator

from app.errors import Problem
from app.schemas.characteristic_keys import CONTROL_KEY, SET_BY, unit_of
from app.schemas.sent import (
    Coordinate,
    Degrees,
    Flag,
    Line,
    Name,
    NotNegative,
    Number,
    PerKelvin,
    PerKelvinU,
    Positive,
    Prose,
    Sent,
    require_sound,
)

REFERENCE_FORMAT = "jigbook.reference/1"
MOST_ENTRIES = 300

Part = Literal["frame", "arm", "fork", "wheel"]
Levelling = Literal["by_control", "by_line", "by_height", "by_angle"]
ProvenanceKind = Literal[
    "maker", "measured_machines", "drawing", "common_practice", "invented", "other"
]
Straightening = Literal["unknown", "permitted", "forbidden"]
Position = tuple[Coordinate, Coordinate, Coordinate]
TWO_MATERIALS = frozenset({"steel", "aluminium"})


class ToleranceIn(Sent):
    """A nominal and the allowed deviations from it, in the unit of its characteristic."""

    nominal: Number | None = None
    lower: Number | None = None
    upper: Number | None = None
    required: Flag | None = None
    source: Line | None = None

    @model_validator(mode="after")
    def _limits_in_order(self) -> Self:
        if self.lower is not None and self.upper is not None and self.lower > self.upper:
            facts = {"lower": self.lower, "upper": self.upper}
            require_sound([Problem("limits_crossed", "lower", facts)])
        return self

    @property
    def has_limit(self) -> bool:
        return self.lower is not None or self.upper is not None

    @property
    def is_required(self) -> bool:
        return self.has_limit if self.required is None else self.required


class MachineModelIn(Sent):
    make: Line | None = None
    model: Line | None = None
    years: Line | None = None


class ProvenanceIn(Sent):
    kind: ProvenanceKind
    detail: Prose | None = None


class RimWidthIn(Sent):
    front: Positive | None = None
    rear: Positive | None = None


class HandlingIn(Sent):
    """What the handling figures need besides the characteristics; for information only."""

    attitude_deg: Degrees | None = None
    fork_offset_mm: Number | None = None
    front_tyre_radius_mm: Positive | None = None
    rear_tyre_radius_mm: Positive | None = None
    wheelbase_mm: Positive | None = None
    arm_droop_deg: Degrees | None = None
    head_above_ground_mm: Positive | None = None


class RepairIn(Sent):
    """What is known of the maker's word on straightening."""

    straightening: Straightening = "unknown"
    limit_mm: NotNegative | None = None


class ReferenceIn(Sent):
    format: Literal["jigbook.reference/1"]
    characteristics: Annotated[dict[str, ToleranceIn], Field(max_length=MOST_ENTRIES)]
    machine: MachineModelIn = MachineModelIn.model_construct()
    materials: dict[Part, Name] = Field(default_factory=dict)
    levelling: Levelling | None = None
    provenance: ProvenanceIn | None = None
    control_points: Annotated[dict[Name, Position], Field(max_length=MOST_ENTRIES)] = Field(
        default_factory=dict
    )
    control_weights: Annotated[dict[Name, Positive], Field(max_length=MOST_ENTRIES)] = Field(
        default_factory=dict
    )
    face_squareness_deg: Annotated[
        float, Field(strict=True, allow_inf_nan=False, gt=0.0, le=10.0)
    ] = 0.2
    head_length_mm: Positive | None = None
    handling: HandlingIn | None = None
    repair: RepairIn = RepairIn.model_construct()
    rim_width_mm: RimWidthIn | None = None
    wheel_runout_u_mm: NotNegative | None = None
    expansion_per_k: dict[Part, tuple[PerKelvin, PerKelvinU]] = Field(default_factory=dict)

    @model_validator(mode="after")
    def _hangs_together(self) -> Self:
        require_sound(
            [
                *self._unknown_characteristics(),
                *self._limits_without_nominal(),
                *self._control_problems(),
                *self._levelling_problems(),
                *self._material_problems(),
            ]
        )
        return self

    def _unknown_characteristics(self) -> Iterator[Problem]:
        for key in self.characteristics:
            if unit_of(key) is None:
                yield Problem("unknown_characteristic", f"characteristics.{key}", {"met": key})

    def _limits_without_nominal(self) -> Iterator[Problem]:
        for key, line in self.characteristics.items():
            if line.has_limit and line.nominal is None and not CONTROL_KEY.fullmatch(key):
                yield Problem("limit_without_nominal", f"characteristics.{key}", {"key": key})

    def _control_problems(self) -> Iterator[Problem]:
        for key, line in self.characteristics.items():
            matched = CONTROL_KEY.fullmatch(key)
            if matched is None:
                continue
            facts = {"key": key, "met": matched.group(1)}
            if matched.group(1) not in self.control_points:
                yield Problem("control_point_missing", f"characteristics.{key}", facts)
            if line.nominal:
                yield Problem("control_nominal", f"characteristics.{key}.nominal", facts)
        for name in self.control_weights:
            if name not in self.control_points:
                facts = {"key": name, "met": name}
                yield Problem("control_point_missing", f"control_weights.{name}", facts)

    def _levelling_problems(self) -> Iterator[Problem]:
        levelled = SET_BY.get(self.levelling or "", frozenset())
        for key, line in self.characteristics.items():
            facts = {"key": key, "levelling": self.levelling}
            if key in levelled and (line.has_limit or line.is_required):
                yield Problem("tolerance_on_levelled", f"characteristics.{key}", facts)
            matched = CONTROL_KEY.fullmatch(key)
            seen_from_side = matched is not None and matched.group(2) in "xz"
            if levelled and seen_from_side and line.is_required:
                yield Problem("control_needs_own_levelling", f"characteristics.{key}", facts)

    def _material_problems(self) -> Iterator[Problem]:
        for part, material in self.materials.items():
            if material not in TWO_MATERIALS and part not in self.expansion_per_k:
                facts = {"part": part, "met": material}
                yield Problem("expansion_missing", f"materials.{part}", facts)
