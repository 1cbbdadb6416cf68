"""The fork: its legs against each other and, with a steering axis, against that."""

from typing import NamedTuple

import numpy as np

from app.chassis.associated import Leg, Line
from app.geometry.dual import Scalar, Vector, atan2, cross, dot, square_to, unit


class Fork(NamedTuple):
    """Directions of both legs upward; across: from right to left; up: between the legs; ahead:
    square to both; left_point, right_point: of the legs, at the mean height of all leg points."""

    left: Vector
    right: Vector
    across: Vector
    up: Vector
    ahead: Vector
    left_point: Vector
    right_point: Vector


def fork(left: Leg, right: Leg, upward: Vector) -> Fork:
    """upward: the steering axis, or the survey's `up`: it signs the legs and nothing more."""
    one, other = (_signed(leg.line.direction, upward) for leg in (left, right))
    up = unit(one + other)
    across = unit(square_to(left.centroid - right.centroid, up))
    height = (dot(up, left.centroid) * left.points + dot(up, right.centroid) * right.points) * (
        1.0 / (left.points + right.points)
    )
    return Fork(
        one,
        other,
        across,
        up,
        cross(across, up),
        _at_height(left.centroid, one, up, height),
        _at_height(right.centroid, other, up, height),
    )


def _signed(direction: Vector, upward: Vector) -> Vector:
    sign = np.where(np.asarray(dot(direction, upward).value) < 0.0, -1.0, 1.0)
    if sign.ndim == 0:
        return direction if sign > 0.0 else -direction
    return direction * Scalar(sign)


def _at_height(point: Vector, direction: Vector, up: Vector, height: Scalar) -> Vector:
    return point + direction * ((height - dot(up, point)) / dot(up, direction))


def between_legs(fork: Fork) -> dict[str, Scalar]:
    """Tops apart, left top forward, and the distance of the legs."""
    return {
        "fork_spread": _apart(fork, fork.across),
        "fork_cross": _apart(fork, fork.ahead),
        "fork_spacing": dot(fork.across, fork.left_point - fork.right_point),
    }


def _apart(fork: Fork, towards: Vector) -> Scalar:
    return atan2(dot(fork.left, towards), dot(fork.left, fork.up)) - atan2(
        dot(fork.right, towards), dot(fork.right, fork.up)
    )


def against_steering(fork: Fork, steering: Line) -> dict[str, Scalar]:
    """Top forward of the steering axis, top to the right of it, and legs ahead of it."""
    axis = steering.direction
    along = dot(axis, fork.up)
    middle = (fork.left_point + fork.right_point) * 0.5
    return {
        "fork_rake": -atan2(dot(axis, fork.ahead), along),
        "fork_lean": atan2(dot(axis, fork.across), along),
        "fork_offset": dot(fork.ahead, square_to(middle - steering.point, axis)),
    }


def bend(reading_mm: float) -> float:
    """How far a leg's middle lies off its ends, mm: half the total reading on V-blocks."""
    return reading_mm / 2.0
