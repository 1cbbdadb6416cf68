"""Where each feature of a chassis lies, for a drawing that shows where to measure.

From the nominals of a reference where it has them; the rest is a stand-in of plausible size,
which no number is ever taken from. Machine axes, mm: X forward, Y to the left, Z up.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from app.drawings.places import Place, plus

REACH, HEIGHT, ANGLE_DEG = 690.0, 330.0, 24.5
ARM, DROOP_DEG, WIDTH = 560.0, 8.0, 240.0
HEAD = 170.0
LEG, FORK_OFFSET, FORK_SPACING = 560.0, 35.0, 200.0
TYRE_FRONT, TYRE_REAR, RIM = 300.0, 315.0, 0.72
RIM_FRONT, RIM_REAR = 90.0, 150.0
TARGET_AHEAD, TARGET_ASIDE = 150.0, 240.0
SIDES = {"left": 1.0, "right": -1.0}


@dataclass(frozen=True, slots=True)
class Layout:
    """The few places that all others follow from."""

    head: Place
    """Middle of the lower head face."""
    upward: Place
    """Unit vector of the steering axis."""
    head_mm: float
    axle: Place
    """Middle of the rear axle."""
    half_width: float
    """From the mid-plane to the frame's outer face beside the pivot."""
    control_points: Mapping[str, Place]
    targets: tuple[str, ...] = ()
    """Names of the steering targets, in the order in which they are measured."""

    def on_axis(self, height: float, ahead: float = 0.0) -> Place:
        """A place in the mid-plane: along the steering axis from the head face, then square."""
        up_x, _y, up_z = self.upward
        forward = (up_z, 0.0, -up_x)
        x, y, z = self.head
        return (
            x + height * up_x + ahead * forward[0],
            y,
            z + height * up_z + ahead * forward[2],
        )

    @property
    def front_wheel(self) -> Place:
        """Middle of the front wheel."""
        return self.on_axis(-LEG, FORK_OFFSET + 20.0)


def layout(
    nominals: Mapping[str, float],
    control_points: Mapping[str, Sequence[float]],
    head_mm: float | None = None,
    targets: Sequence[str] = (),
) -> Layout:
    """The layout by a reference. `nominals` in mm and degrees by the key of a characteristic."""
    angle = math.radians(nominals.get("head_angle", ANGLE_DEG))
    head = head_of(nominals, angle)
    length = nominals.get("arm_length", ARM)
    droop = math.radians(DROOP_DEG)
    return Layout(
        head=head,
        upward=(-math.sin(angle), 0.0, math.cos(angle)),
        head_mm=head_mm or HEAD,
        axle=(-length * math.cos(droop), 0.0, -length * math.sin(droop)),
        half_width=nominals.get("pivot_width", WIDTH) / 2,
        control_points={name: (at[0], at[1], at[2]) for name, at in control_points.items()},
        targets=tuple(targets),
    )


def head_of(nominals: Mapping[str, float], angle: float) -> Place:
    """The head face: from its reach and height, else from the two lengths of the side view."""
    if {"head_reach", "head_height"} <= nominals.keys():
        return (nominals["head_reach"], 0.0, nominals["head_height"])
    if {"axis_distance", "face_position"} <= nominals.keys():
        distance, position = nominals["axis_distance"], nominals["face_position"]
        elevation = angle + math.atan2(position, distance)
        radius = math.hypot(distance, position)
        return (radius * math.cos(elevation), 0.0, radius * math.sin(elevation))
    return (REACH, 0.0, HEIGHT)


def places_of(
    plan: Layout,
    feature: str,
    label: str | None,
    points: int = 1,
    turn_deg: float = 0.0,
    end: str | None = None,
) -> list[Place]:
    """Where so many points of a feature are taken; empty for a feature that has no place.

    turn_deg: how far the steering is turned, to the left positive. end: which end of a line,
    where its points have names.
    """
    if feature == "steer_target":
        return [target(plan, label or "", math.radians(turn_deg))]
    side = next((way for name, way in SIDES.items() if ends_with(label, name)), 0.0)
    if feature in LINES:
        ends = LINES[feature](plan, side)
        return [ends[end]] if end in ends else list(ends.values())
    across = {
        "pivot": ((0.0, 0.0, 0.0), plan.half_width + 25.0),
        "pivot_face": ((0.0, 0.0, 0.0), plan.half_width),
        "rear_axle": (plan.axle, 125.0),
        "axle_face": (plan.axle, 95.0),
    }
    if feature in across:
        middle, half = across[feature]
        return spread(plus(middle, (0.0, side * half, 0.0)), points, face=feature.endswith("face"))
    found = NAMED.get(feature)
    return found(plan, feature, label or "", points, side) if found else []


def is_exact(plan: Layout, feature: str, label: str | None) -> bool:
    """Whether the reference says where the feature lies, or the machine itself makes it plain."""
    if feature in ("pair", "axis", "level_line"):
        return False
    return feature != "control" or (label or "") in plan.control_points


def ends_with(label: str | None, side: str) -> bool:
    """Whether a label names a side: `left`, or `tail.left`."""
    return (label or "").rpartition(".")[2] == side


def spread(at: Place, points: int, *, face: bool) -> list[Place]:
    """The place itself for one point; several round it on a face, beside it on an axis."""
    if points < 2 or not face:
        return [at]
    turns = [2 * math.pi * step / points for step in range(points)]
    return [plus(at, (50.0 * math.cos(t), 0.0, 50.0 * math.sin(t))) for t in turns]


def bores(plan: Layout, _side: float) -> dict[str, Place]:
    """The bearing seats."""
    return {"lower": plan.on_axis(0.06 * plan.head_mm), "upper": plan.on_axis(0.94 * plan.head_mm)}


def head_face(plan: Layout, _feature: str, _label: str, points: int, _side: float) -> list[Place]:
    """On the lower face, round the axis."""
    if points < 2:
        return [plan.head]
    turns = [2 * math.pi * step / points for step in range(points)]
    return [
        plus(plan.on_axis(0.0, 60.0 * math.cos(t)), (0.0, 60.0 * math.sin(t), 0.0)) for t in turns
    ]


def target(plan: Layout, label: str, turn: float) -> Place:
    """On a holder that turns with the steering: each at another height and another way round."""
    order = plan.targets.index(label) if label in plan.targets else 0
    height = plan.head_mm * (1.15 if order % 2 == 0 else -0.35) + 40.0 * (order // 2)
    aside = TARGET_ASIDE / 2 if order % 2 == 0 else -TARGET_ASIDE / 2
    ahead = TARGET_AHEAD * math.cos(turn) - aside * math.sin(turn)
    left = TARGET_AHEAD * math.sin(turn) + aside * math.cos(turn)
    return plus(plan.on_axis(height, ahead), (0.0, left, 0.0))


def level(plan: Layout, _feature: str, label: str, _points: int, _side: float) -> list[Place]:
    """The levelling points: one ahead, one behind, which of them is all that is known."""
    x = 0.55 * plan.head[0] if label == "front" else -180.0
    return [(x, 0.0, 0.75 * plan.head[2])]


def control(plan: Layout, _feature: str, label: str, _points: int, _side: float) -> list[Place]:
    """Where the reference has it."""
    at = plan.control_points.get(label)
    return [(0.4 * plan.head[0], 0.0, 0.3 * plan.head[2])] if at is None else [at]


STAND_IN = {"tail": (-400.0, 95.0, 360.0), "rest": (-60.0, 210.0, -70.0)}
ELSEWHERE = (0.5, 130.0, 0.2)
"""Part of the head's reach, half the width, part of the head's height."""


def pair(plan: Layout, _feature: str, label: str, _points: int, side: float) -> list[Place]:
    """Known by its name where that says enough, else midway on the frame."""
    name = label.partition(".")[0]
    found = next((at for word, at in STAND_IN.items() if word in name), None)
    x, y, z = found or (
        ELSEWHERE[0] * plan.head[0],
        ELSEWHERE[1],
        ELSEWHERE[2] * plan.head[2],
    )
    return [(x, (side or 1.0) * y, z)]


def axis(_plan: Layout, _side: float) -> dict[str, Place]:
    """A further axis across the machine, drawn above the swing arm."""
    return {"left": (-90.0, 60.0, 110.0), "right": (-90.0, -60.0, 110.0)}


def leg(plan: Layout, side: float) -> dict[str, Place]:
    """Along the centreline of one leg."""
    aside = (0.0, side * FORK_SPACING / 2, 0.0)
    heights = {"lower": -0.85 * LEG, "upper": -0.25 * LEG}
    return {end: plus(plan.on_axis(h, FORK_OFFSET), aside) for end, h in heights.items()}


def rim(plan: Layout, feature: str, _label: str, points: int, side: float) -> list[Place]:
    """Round the edge of a rim, as far apart as so many points can be."""
    front = feature == "front_rim"
    middle = plan.front_wheel if front else plan.axle
    radius = RIM * (TYRE_FRONT if front else TYRE_REAR)
    half = (RIM_FRONT if front else RIM_REAR) / 2
    turns = [math.pi / 2 + 2 * math.pi * step / max(points, 1) for step in range(max(points, 1))]
    return [plus(middle, (radius * math.cos(t), side * half, radius * math.sin(t))) for t in turns]


LINES: Mapping[str, Callable[[Layout, float], dict[str, Place]]] = MappingProxyType(
    {"head_bore": bores, "axis": axis, "fork_leg": leg}
)
"""Features that are measured at two ends."""
NAMED: Mapping[str, Callable[[Layout, str, str, int, float], list[Place]]] = MappingProxyType(
    {
        "head_face": head_face,
        "level_line": level,
        "control": control,
        "pair": pair,
        "front_rim": rim,
        "rear_rim": rim,
    }
)
