"""The fork: its legs against each other and, with a steering axis, against that.

Its own axes: up between the legs, across from the right one to the left one, ahead square to both.
"""

import math
from typing import NamedTuple

import numpy as np

from app.chassis import refusals
from app.chassis.associated import Leg, Line
from app.geometry.dual import Scalar, Vector, atan2, cross, dot, square_to, unit
from app.geometry.dual_sums import products

LEGS_APART_MM = 20.0
"""Nearer together, the legs do not tell what is across and what is ahead."""


class InFork(NamedTuple):
    """Components in the fork's own axes, mm or of a unit vector."""

    across: Scalar
    up: Scalar
    ahead: Scalar


class Fork(NamedTuple):
    """left, right: directions of the legs; left_point, right_point: of the legs, at the mean height
    of all leg points; axis, axis_point: of the steering, where there is one."""

    left: InFork
    right: InFork
    left_point: InFork
    right_point: InFork
    axis: InFork | None
    axis_point: InFork | None


def fork(left: Leg, right: Leg, upward: Vector, steering: Line | None) -> Fork:
    """upward: the steering axis, or the survey's `up`: it signs the legs and nothing more.

    Raises Refusal `coincident_points`, with derivatives only.
    """
    one, other = (_signed(leg.line.direction, upward) for leg in (left, right))
    up = unit(one + other)
    between = square_to(left.centroid - right.centroid, up)
    _require_apart(between)
    across = unit(between)
    vectors = [one, other, left.centroid, right.centroid, *(steering or ())]
    seen = [InFork(*parts) for parts in products((across, up, cross(across, up)), vectors)]
    share = left.points / (left.points + right.points)
    height = seen[2].up * share + seen[3].up * (1.0 - share)
    return Fork(
        seen[0],
        seen[1],
        _at_height(seen[2], seen[0], height),
        _at_height(seen[3], seen[1], height),
        None if steering is None else seen[5],
        None if steering is None else seen[4],
    )


def _require_apart(between: Vector) -> None:
    """Raises Refusal `coincident_points`, with derivatives only."""
    if between.value.ndim == 1:
        length = math.sqrt(between.value @ between.value)
        if length < LEGS_APART_MM:
            raise refusals.coincident_points("fork_leg", length, LEGS_APART_MM, "left, right")


def _signed(direction: Vector, upward: Vector) -> Vector:
    sign = np.where(np.asarray(dot(direction, upward).value) < 0.0, -1.0, 1.0)
    if sign.ndim == 0:
        return direction if sign > 0.0 else -direction
    return direction * Scalar(sign)


def _at_height(point: InFork, direction: InFork, height: Scalar) -> InFork:
    step = (height - point.up) / direction.up
    return InFork(
        point.across + direction.across * step, height, point.ahead + direction.ahead * step
    )


def between_legs(fork: Fork) -> dict[str, Scalar]:
    """Tops apart, left top forward, and the distance of the legs."""
    left, right = fork.left, fork.right
    return {
        "fork_spread": atan2(left.across, left.up) - atan2(right.across, right.up),
        "fork_cross": atan2(left.ahead, left.up) - atan2(right.ahead, right.up),
        "fork_spacing": fork.left_point.across - fork.right_point.across,
    }


def against_steering(fork: Fork) -> dict[str, Scalar]:
    """Top forward of the steering axis, top to the right of it, and legs ahead of it."""
    axis, through = fork.axis, fork.axis_point
    if axis is None or through is None:
        return {}
    middle = [(a + b) * 0.5 for a, b in zip(fork.left_point, fork.right_point, strict=True)]
    across, up, ahead = (a - b for a, b in zip(middle, through, strict=True))
    along = axis.across * across + axis.up * up + axis.ahead * ahead
    return {
        "fork_rake": -atan2(axis.ahead, axis.up),
        "fork_lean": atan2(axis.across, axis.up),
        "fork_offset": ahead - axis.ahead * along,
    }
