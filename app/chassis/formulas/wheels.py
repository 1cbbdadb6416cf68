"""The wheels: the front one turned straight by arithmetic, against the rear one and the head."""

from collections.abc import Mapping
from typing import NamedTuple

import numpy as np

from app.chassis.associated import Edge, Line
from app.chassis.formulas.machine_axes import MachineAxes
from app.geometry.dual import (
    Scalar,
    Vector,
    asin,
    atan2,
    cos,
    cross,
    dot,
    hypot,
    sin,
    unit,
)


class Wheel(NamedTuple):
    """normal: of the mid-plane, to the left; centre: None where one edge was measured and the
    rim's width is not known."""

    normal: Vector
    centre: Vector | None


def wheel(edges: Mapping[str, Edge], width_mm: float | None) -> Wheel | None:
    """The mid-plane lies midway between both edges, or half a rim's width inside one."""
    if "left" in edges and "right" in edges:
        left, right = edges["left"], edges["right"]
        return Wheel(unit(left.normal + right.normal), (left.centre + right.centre) * 0.5)
    for side, outward in (("left", 1.0), ("right", -1.0)):
        if side in edges:
            edge = edges[side]
            inward = None if width_mm is None else edge.normal * (-outward * width_mm / 2.0)
            return Wheel(edge.normal, None if inward is None else edge.centre + inward)
    return None


def against_steering(front: Wheel, steering: Line, head: Vector | None) -> dict[str, Scalar]:
    """The same at any steering angle."""
    found = {"front_wheel_lean": asin(dot(front.normal, steering.direction))}
    if head is not None and front.centre is not None:
        found["front_wheel_offset"] = dot(front.normal, front.centre - head)
    return found


def against_rear(
    front: Wheel, rear: Wheel, steering: Line, axes: MachineAxes
) -> dict[str, Scalar] | None:
    """Lean and track of the front wheel set straight; None where no turn sets it straight."""
    ahead = unit(cross(rear.normal, axes.up))
    turn = straightening(front.normal, steering.direction, ahead)
    if turn is None:
        return None
    sideways = cross(axes.up, ahead)
    straight = turned(front.normal, steering.direction, turn)
    lean = _lean(straight, axes.up, sideways) - _lean(rear.normal, axes.up, sideways)
    found = {"wheel_lean": lean}
    if front.centre is not None and rear.centre is not None:
        arm = turned(front.centre - steering.point, steering.direction, turn)
        found["wheel_track"] = dot(rear.normal, steering.point + arm - rear.centre)
    return found


def _lean(normal: Vector, up: Vector, sideways: Vector) -> Scalar:
    return atan2(dot(normal, up), dot(normal, sideways))


def straightening(normal: Vector, axis: Vector, ahead: Vector) -> Scalar | None:
    """The smallest turn about the axis, rad, right-handed, that leaves a normal square to ahead.

    With the normal's part p square to the axis and c = axis × p it solves
    (p·ahead) cos b + (c·ahead) sin b + (normal·axis)(axis·ahead) = 0.
    """
    along = dot(normal, axis)
    square = normal - axis * along
    by_cosine, by_sine = dot(square, ahead), dot(cross(axis, square), ahead)
    size = hypot(by_cosine, by_sine)
    fixed = along * dot(axis, ahead)
    if isinstance(fixed.value, float) and not abs(fixed.value) < size.value:
        return None
    # One turn for each root of the sine. The smaller one is within half a turn as it stands: where
    # the other is more than that, it is still the larger after a whole turn is taken off.
    half = asin(fixed / size)
    return _smaller(half - atan2(-by_cosine, -by_sine), -half - atan2(by_cosine, by_sine))


def _smaller(one: Scalar, other: Scalar) -> Scalar:
    """The angle nearer to zero."""
    first = np.abs(one.value) <= np.abs(other.value)
    if np.ndim(first) == 0:
        return one if first else other
    return Scalar(np.where(first, one.value, other.value))


def turned(vector: Vector, axis: Vector, angle: Scalar) -> Vector:
    """A vector turned about an axis, right-handed."""
    along = axis * dot(axis, vector)
    square = vector - along
    return along + square * cos(angle) + cross(axis, square) * sin(angle)
