"""The fork: its legs against each other and, with a steering axis, against that.

Its own axes: up between the legs, across from the right one to the left one, ahead square to both.
Up halves the angle between the legs: the right leg's direction is the left one's with across and
ahead reversed, so that the left one tells of both.
"""

import math
from typing import NamedTuple

import numpy as np

from app.chassis import refusals
from app.chassis.associated import Leg, Line
from app.geometry.dual import Scalar, Vector, atan2, cross, dot, norm, unit

LEGS_APART_MM = 20.0
"""Nearer together, the legs do not tell what is across and what is ahead."""


class InFork(NamedTuple):
    """Components in the fork's own axes, mm or of a unit vector."""

    across: Scalar
    up: Scalar
    ahead: Scalar


class Fork(NamedTuple):
    """left: direction of the left leg; spacing: from leg to leg, at the mean height of all leg
    points; axis: direction of the steering, and middle: from its point to midway between the legs
    at that height; both None without a steering axis."""

    left: InFork
    spacing: Scalar
    axis: InFork | None
    middle: InFork | None


def fork(left: Leg, right: Leg, upward: Vector, steering: Line | None) -> Fork:
    """upward: the steering axis, or the survey's `up`: it signs the legs and nothing more.

    Raises Refusal `coincident_points`, with derivatives only.
    """
    one, other = (_signed(leg.line.direction, upward) for leg in (left, right))
    up = unit(one + other)
    between = left.centroid - right.centroid
    higher = dot(up, between)
    level = between - up * higher
    _require_apart(level)
    across = unit(level)
    vectors, ahead = [one], cross(across, up)
    if steering is not None:
        middle = (left.centroid + right.centroid) * 0.5 - steering.point
        vectors += [steering.direction, middle]
    seen = [InFork(dot(across, seen), dot(up, seen), dot(ahead, seen)) for seen in vectors]
    return _at_mean_height(seen, norm(level), higher, left.points / (left.points + right.points))


def _signed(direction: Vector, upward: Vector) -> Vector:
    against = dot(Vector(direction.value), Vector(upward.value)).value
    if isinstance(against, float):
        return -direction if against < 0.0 else direction
    return direction * Scalar(np.where(against < 0.0, -1.0, 1.0))


def _require_apart(level: Vector) -> None:
    """Raises Refusal `coincident_points`, with derivatives only."""
    if level.value.ndim == 1:
        length = math.sqrt(level.value.dot(level.value))
        if length < LEGS_APART_MM:
            raise refusals.coincident_points("fork_leg", length, LEGS_APART_MM, "left, right")


def _at_mean_height(seen: list[InFork], apart: Scalar, higher: Scalar, share: float) -> Fork:
    """seen: the left leg and, with a steering axis, its direction and the middle between the mean
    points of the legs; apart, higher: the left leg's mean point from the right one's; share: of
    the left leg in all points.

    To the mean height the left leg's point goes down its leg by (1 - share) · higher, the right
    one's up its own by share · higher: their middle goes against the left leg's slant by half of
    `higher`.
    """
    left, uneven = seen[0], share - 0.5
    down = higher / left.up
    sideways, forward = left.across * down, left.ahead * down
    spacing = apart + sideways * (2.0 * uneven) if uneven else apart
    if len(seen) == 1:
        return Fork(left, spacing, None, None)
    axis, mean = seen[1:]
    height = mean.up + higher * uneven if uneven else mean.up
    middle = InFork(mean.across - sideways * 0.5, height, mean.ahead - forward * 0.5)
    return Fork(left, spacing, axis, middle)


def between_legs(fork: Fork) -> dict[str, Scalar]:
    """Tops apart, left top forward, and the distance of the legs."""
    left = fork.left
    return {
        "fork_spread": atan2(left.across, left.up) * 2.0,
        "fork_cross": atan2(left.ahead, left.up) * 2.0,
        "fork_spacing": fork.spacing,
    }


def against_steering(fork: Fork) -> dict[str, Scalar]:
    """Top forward of the steering axis, top to the right of it, and legs ahead of it."""
    axis, middle = fork.axis, fork.middle
    if axis is None or middle is None:
        return {}
    along = axis.across * middle.across + axis.up * middle.up + axis.ahead * middle.ahead
    return {
        "fork_rake": -atan2(axis.ahead, axis.up),
        "fork_lean": atan2(axis.across, axis.up),
        "fork_offset": middle.ahead - axis.ahead * along,
    }
