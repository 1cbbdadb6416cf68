"""Where the lines and circles of a known machine truly lie, in the frame of `Pose`."""

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from app.demonstration.machine import Arm, Axis, Fork, Wheel
from app.demonstration.pose import Pose
from app.demonstration.vectors import Floats, crossed, turned, unit

LEFT = np.array([0.0, 1.0, 0.0])


class TrueLine(NamedTuple):
    point: Floats
    direction: Floats

    def at(self, places: Floats) -> Floats:
        """(k, 3): points at the places (k,) along the line."""
        along: Floats = self.point + places[:, np.newaxis] * self.direction
        return along


class TrueWheel(NamedTuple):
    """Its middle, its axle's direction to the left, and any two directions square to that."""

    centre: Floats
    normal: Floats
    first: Floats
    second: Floats

    def turned_about(self, axis: TrueLine, angle: float) -> "TrueWheel":
        rotation = turned(angle * axis.direction)
        centre = axis.point + rotation @ (self.centre - axis.point)
        return TrueWheel(
            centre, rotation @ self.normal, rotation @ self.first, rotation @ self.second
        )


@dataclass(frozen=True, slots=True)
class Head:
    point: Floats
    """(3,): where the steering axis meets the head face."""
    axis: Floats
    """(3,): upward."""
    ahead: Floats
    """(3,): square to the axis, straight ahead."""
    left: Floats

    @classmethod
    def of(cls, pose: Pose) -> "Head":
        lean, twist = math.radians(pose.head_angle_deg), math.radians(pose.head_twist_deg)
        axis = np.array(
            [
                -math.sin(lean) * math.cos(twist),
                -math.sin(twist),
                math.cos(lean) * math.cos(twist),
            ]
        )
        point = np.array([pose.head_reach_mm, pose.head_offset_mm, pose.head_height_mm])
        ahead = np.array([math.cos(lean), 0.0, math.sin(lean)])
        return cls(point, axis, ahead, crossed(axis, ahead))

    @property
    def line(self) -> TrueLine:
        return TrueLine(self.point, self.axis)

    def place(self, ahead: float, left: float, up: float) -> Floats:
        """(3,): what lies so far from H, steering straight."""
        found: Floats = self.point + ahead * self.ahead + left * self.left + up * self.axis
        return found


def axle(arm: Arm) -> TrueLine:
    """The rear axle; its point is M, its direction to the left."""
    droop = math.radians(arm.droop_deg)
    back = np.array([-math.cos(droop), 0.0, -math.sin(droop)])
    up = np.array([-math.sin(droop), 0.0, math.cos(droop)])
    direction = LEFT + _tan(arm.toe_deg) * back + _tan(arm.twist_deg) * up
    return TrueLine(arm.length_mm * back + arm.offset_mm * LEFT, unit(direction))


def further_axis(axis: Axis) -> TrueLine:
    direction = np.array([-_tan(axis.toe_deg), 1.0, _tan(axis.twist_deg)])
    return TrueLine(np.array(axis.centre), unit(direction))


def legs(fork: Fork, head: Head, steering: float = 0.0) -> tuple[TrueLine, TrueLine]:
    """Left and right centreline, each from the middle of its measured part, directions upward.

    Of the fork's own axes (aside, ahead, up) only the steering axis is known at first: its top
    stands behind and beside the middle of the legs by rake and lean.
    """
    to_axis = unit([_tan(fork.lean_deg), -_tan(fork.rake_deg), 1.0])
    own = _taking(to_axis, head)
    opening = np.array([_tan(fork.spread_deg / 2.0), _tan(fork.cross_deg / 2.0), 0.0])
    # The middle of the legs lies beside the steering axis, square to it.
    beside = np.array([fork.aside_mm, fork.offset_mm, 0.0])
    beside[2] = -(beside @ to_axis) / to_axis[2]
    rotation = turned(steering * head.axis)
    middle = head.point + fork.middle_mm * head.axis + rotation @ own @ beside
    found = []
    for side in (1.0, -1.0):
        point = middle + rotation @ own @ np.array([0.5 * side * fork.spacing_mm, 0.0, 0.0])
        direction = rotation @ own @ unit(np.array([0.0, 0.0, 1.0]) + side * opening)
        found.append(TrueLine(point, direction))
    return found[0], found[1]


def _taking(to_axis: Floats, head: Head) -> Floats:
    """(3, 3): from the fork's own axes to the machine's, steering straight as near as can be."""
    # Two right-handed triads that share the steering axis: in the fork's axes, and the machine's.
    own_left = unit(np.array([1.0, 0.0, 0.0]) - to_axis[0] * to_axis)
    own = np.column_stack([own_left, _forward(own_left, to_axis), to_axis])
    there: Floats = np.column_stack([head.left, head.ahead, head.axis])
    taking: Floats = there @ own.T
    return taking


def _forward(left: Floats, up: Floats) -> Floats:
    """In the fork's axes, which are left-handed in the order aside, ahead, up."""
    return crossed(up, left)


def front_wheel(wheel: Wheel, head: Head, steering: float = 0.0) -> TrueWheel:
    straight = _wheel(wheel, head.place(*wheel.centre), head.ahead, head.left, head.axis)
    return straight.turned_about(head.line, steering)


def rear_wheel(wheel: Wheel) -> TrueWheel:
    forward, left, up = np.eye(3)
    return _wheel(wheel, np.array(wheel.centre), forward, left, up)


def _wheel(wheel: Wheel, centre: Floats, ahead: Floats, left: Floats, up: Floats) -> TrueWheel:
    normal = unit(left - _tan(wheel.toe_deg) * ahead + _tan(wheel.lean_deg) * up)
    first = unit(crossed(normal, up))
    return TrueWheel(centre, normal, first, crossed(normal, first))


def _tan(degrees: float) -> float:
    return math.tan(math.radians(degrees))
