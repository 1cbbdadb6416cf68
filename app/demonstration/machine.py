"""A whole machine that is known. All of its figures are invented.

Everything stands in the frame of `Pose`: Y along the pivot axis to the left, the origin O between
the frame's outer faces, X forward and Z up in one frame turned about the pivot axis at will.
Lengths in mm, angles in degrees.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType

import numpy as np

from app.demonstration.pose import Pose
from app.demonstration.vectors import Floats

Triple = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Arm:
    """The swing arm with its axle; its droop says nothing of its shape."""

    length_mm: float = 560.0
    droop_deg: float = 7.0
    toe_deg: float = 0.0
    twist_deg: float = 0.0
    offset_mm: float = 0.0
    width_mm: float = 230.0
    """Between the faces that position the wheel."""


@dataclass(frozen=True, slots=True)
class Fork:
    """Both legs against each other, and as a pair against the steering axis."""

    spread_deg: float = 0.0
    cross_deg: float = 0.0
    spacing_mm: float = 205.0
    rake_deg: float = 0.0
    lean_deg: float = 0.0
    offset_mm: float = 32.0
    aside_mm: float = 0.0
    """The middle of the legs to the left of the steering axis."""
    middle_mm: float = -190.0
    """Where the middle of the measured part lies along the steering axis, from H upward."""


@dataclass(frozen=True, slots=True)
class Wheel:
    """A rim with two edges; toe: points to the left, lean: its top to the right.

    centre: from H along ahead, left and up the steering axis for the front one, steering straight;
    from O in the machine's frame for the rear one.
    """

    centre: Triple
    toe_deg: float = 0.0
    lean_deg: float = 0.0
    radius_mm: float = 215.0
    width_mm: float = 90.0


@dataclass(frozen=True, slots=True)
class Axis:
    """A further axis; toe: left end rearward, twist: left end high."""

    centre: Triple
    toe_deg: float = 0.0
    twist_deg: float = 0.0
    span_mm: float = 160.0
    """Between the outermost points that can be touched."""


@dataclass(frozen=True, slots=True)
class Machine:
    head: Pose = field(default_factory=Pose)
    level_line: tuple[Triple, Triple] | None = None
    """Rear and front."""
    controls: Mapping[str, Triple] = field(default_factory=lambda: MappingProxyType({}))
    pairs: Mapping[str, tuple[Triple, Triple]] = field(default_factory=lambda: MappingProxyType({}))
    """Left and right."""
    axes: Mapping[str, Axis] = field(default_factory=lambda: MappingProxyType({}))
    arm: Arm | None = None
    fork: Fork | None = None
    front_wheel: Wheel | None = None
    rear_wheel: Wheel | None = None


SOUND = Machine(
    head=Pose(),
    level_line=((-150.0, 90.0, 240.0), (420.0, 90.0, 240.0)),
    controls={
        "engine_front_left": (415.0, 118.0, 92.0),
        "engine_front_right": (415.0, -118.0, 92.0),
        "engine_rear_left": (60.0, 105.0, 150.0),
        "engine_rear_right": (60.0, -105.0, 150.0),
        "seat_rear": (-310.0, 0.0, 380.0),
    },
    pairs={
        "tail": ((-420.0, 95.0, 360.0), (-420.0, -95.0, 360.0)),
        "rest": ((-60.0, 170.0, 40.0), (-60.0, -170.0, 40.0)),
    },
    axes={"shock_bolt": Axis((-70.0, 0.0, 170.0)), "linkage": Axis((30.0, 0.0, -80.0))},
    arm=Arm(),
    fork=Fork(),
    front_wheel=Wheel((32.0, 0.0, -420.0), width_mm=90.0),
    rear_wheel=Wheel((-555.8, 0.0, -68.2), width_mm=150.0),
)
"""An invented machine in order, as its reference gives it."""


def with_bent_pivot(machine: Machine, motion: Floats, shift: Triple) -> Machine:
    """The same with the frame's own points moved against pivot axis and head.

    motion: (3, 3) rotation about O, then the shift in mm; control points, pairs and level line.
    """

    def moved(place: Triple) -> Triple:
        x, y, z = (motion @ np.array(place) + np.array(shift)).tolist()
        return x, y, z

    line = machine.level_line
    return replace(
        machine,
        level_line=None if line is None else (moved(line[0]), moved(line[1])),
        controls={name: moved(place) for name, place in machine.controls.items()},
        pairs={name: (moved(le), moved(ri)) for name, (le, ri) in machine.pairs.items()},
    )
