"""The wheels: the front one turned straight by arithmetic, against the rear one and the head."""

import math
from collections.abc import Mapping
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from app.chassis.associated import Edge, Line
from app.chassis.formulas.machine_axes import MachineAxes
from app.geometry.dual import Scalar, Vector, asin, atan2, cos, cross, dot, hypot, sin, unit


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
    rise = dot(rear.normal, axes.up)
    sideways = unit(rear.normal - axes.up * rise)
    straight = straight_lean(front.normal, steering.direction, sideways, axes.up)
    if straight is None:
        return None
    lean = straight - asin(rise)
    found = {"wheel_lean": lean}
    if front.centre is not None and rear.centre is not None:
        leaning = dot(cross(sideways, axes.up), steering.direction)
        arm = front.centre - steering.point
        reach = _reach(arm, front.normal, steering.direction, rear.normal, lean, leaning)
        found["wheel_track"] = dot(rear.normal, steering.point - rear.centre) + reach
    return found


def straight_lean(normal: Vector, axis: Vector, sideways: Vector, up: Vector) -> Scalar | None:
    """Lean b, from sideways towards up, rad, of a wheel's normal that was turned straight.

    Straight, it is square to what is ahead, and at the same angle to the axis as ever:
    (axis·sideways) cos b + (axis·up) sin b = normal·axis. Of the two such places it goes to the
    one it is nearer to. None, over trials NaN, where there is none.
    """
    by_cosine, by_sine, fixed = dot(axis, sideways), dot(axis, up), dot(normal, axis)
    size = hypot(by_cosine, by_sine)
    if isinstance(fixed.value, float) and not abs(fixed.value) < size.value:
        return None
    from_side, tilt = asin(fixed / size), atan2(by_cosine, by_sine)
    # What is ahead of the wheel itself is normal × axis: where that points backwards, the wheel
    # is nearer to straight with its left side to the right.
    side, high = (dot(Vector(normal.value), Vector(one.value)).value for one in (sideways, up))
    forwards = np.asarray(side * by_sine.value - high * by_cosine.value) >= 0.0
    return _within_half_turn(_chosen(forwards, from_side, math.pi - from_side) - tilt)


def _chosen(first: NDArray[np.bool_], one: Scalar, other: Scalar) -> Scalar:
    if first.ndim == 0:
        return one if first else other
    return Scalar(np.where(first, one.value, other.value))


def _within_half_turn(angle: Scalar) -> Scalar:
    return angle - Scalar(np.round(angle.value / math.tau) * math.tau)


def _reach(
    arm: Vector, normal: Vector, axis: Vector, rear: Vector, lean: Scalar, leaning: Scalar
) -> Scalar:
    """How far an arm from the axis reaches along the rear wheel's normal, turned as the front
    wheel is to stand straight, mm.

    The turn takes axis, normal, axis × normal, which the arm is resolved by, to the axis, the
    straight normal and axis × that. With both normals square to ahead and `lean` between them, the
    products of these with the rear one are axis·rear, cos lean and -(axis·ahead) sin lean.
    leaning: axis·ahead.
    """
    share = dot(axis, normal)
    along, out, round_axis = dot(arm, axis), dot(arm, normal), dot(arm, cross(axis, normal))
    reach = (
        (along - share * out) * dot(axis, rear)
        + (out - share * along) * cos(lean)
        - round_axis * leaning * sin(lean)
    )
    return reach / (1.0 - share * share)
