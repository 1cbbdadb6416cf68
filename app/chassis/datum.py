"""The datum that the chassis carries: the pivot axis to the left, and the faces beside it."""

import math
from collections.abc import Sequence
from itertools import combinations
from typing import NamedTuple

import numpy as np

from app.chassis import refusals
from app.chassis.features import SIDES, Points
from app.chassis.frames import Vector, dot, frame_along, mean, minus, scaled, vector
from app.chassis.survey import Floats

POINTS_NEEDED = 2


class PivotStart(NamedTuple):
    frame: Floats
    """(3, 3): the third direction is the starting axis, to the left."""

    @property
    def left(self) -> Vector:
        return vector(self.frame[:, 2])


def pivot_centre(points: Points) -> Vector:
    """Mean of the pivot points. Raises Refusal `too_few_points`."""
    places = points.first.get("pivot", [])
    if len(places) < POINTS_NEEDED:
        raise refusals.too_few_points("pivot", len(places), POINTS_NEEDED)
    return mean([vector(points.survey.xyz[i]) for i in places])


def pivot_start(points: Points, xyz: list[Vector], variance: list[float]) -> PivotStart:
    """The line through the two pivot points farthest apart, signed by the labels, to the left.

    Raises Refusal `coincident_points`, `left_unknown`.
    """
    places = points.first["pivot"]
    apart, one, other = farthest([xyz[i] for i in places])
    needed = refusals.MOVE_NEEDED_U * math.sqrt(max([variance[i] for i in places]))
    if apart < needed:
        raise refusals.coincident_points("pivot", apart, needed)
    direction = scaled(minus(one, other), 1.0 / apart)
    return PivotStart(frame_along(scaled(direction, _left_sign(points, xyz, direction))))


def origin(points: Points, xyz: list[Vector], left: Vector, offset: Floats) -> Floats:
    """(3,), mm: O, midway between the faces on the axis to the left through the mean pivot point,
    from which xyz counts; that point itself where a face was not measured.

    offset: (n,), mm, of the measured centres outside the faces.
    """
    middle = 0.0
    for side, outward in zip(SIDES, (1.0, -1.0), strict=True):
        places = points.labelled(points.first.get("pivot_face", []), side)
        if not places:
            return np.zeros(3)
        reached = [dot(xyz[i], left) - outward * offset.item(i) for i in places]
        middle += sum(reached) / len(places) / 2.0
    return np.array(scaled(left, middle))


def farthest(places: Sequence[Vector]) -> tuple[float, Vector, Vector]:
    """The largest distance between two of the places, and these two."""
    return max([(math.dist(a, b), a, b) for a, b in combinations(places, 2)])


def _left_sign(points: Points, xyz: list[Vector], direction: Vector) -> float:
    for feature in ("pivot", "pivot_face"):
        places = points.first.get(feature, [])
        left, right = (points.labelled(places, side) for side in SIDES)
        if left and right:
            apart = minus(mean([xyz[i] for i in left]), mean([xyz[i] for i in right]))
            return math.copysign(1.0, dot(apart, direction))
    raise refusals.left_unknown()
