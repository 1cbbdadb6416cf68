"""The datum that the chassis carries: the pivot axis to the left, and the faces beside it."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from app.chassis import refusals
from app.chassis.features import Points
from app.chassis.frames import Vector, dot, frame_along, minus, scaled, vector
from app.chassis.survey import Floats
from app.geometry.lines import fit_line

POINTS_NEEDED = 2


@dataclass(frozen=True, slots=True)
class PivotStart:
    frame: Floats
    """(3, 3): the third direction is the starting axis, to the left."""

    @property
    def left(self) -> Vector:
        return vector(self.frame[:, 2])


def pivot_centre(points: Points) -> Floats:
    """(3,): mean of the pivot points. Raises Refusal `too_few_points`."""
    places = points.first.get("pivot", [])
    if len(places) < POINTS_NEEDED:
        raise refusals.too_few_points("pivot", len(places), POINTS_NEEDED)
    mean: Floats = points.survey.xyz[places].mean(axis=0)
    return mean


def pivot_start(points: Points, xyz: Floats, variance: Floats) -> PivotStart:
    """The line through the pivot points, signed by the labels, to the left.

    Raises Refusal `coincident_points`, `left_unknown`.
    """
    places = points.first["pivot"]
    line = fit_line(xyz[places], 1.0 / variance[places])
    reach = (xyz[places] @ line.direction).tolist()
    apart = max(reach) - min(reach)
    needed = refusals.MOVE_NEEDED_U * math.sqrt(float(variance[places].max()))
    if apart < needed:
        raise refusals.coincident_points("pivot", apart, needed)
    direction = vector(line.direction)
    return PivotStart(frame_along(scaled(direction, _left_sign(points, xyz, direction))))


def _left_sign(points: Points, xyz: Floats, direction: Vector) -> float:
    for feature in ("pivot", "pivot_face"):
        places = points.first.get(feature, [])
        left, right = (points.labelled(places, side) for side in ("left", "right"))
        if left and right:
            apart = minus(vector(xyz[left].mean(axis=0)), vector(xyz[right].mean(axis=0)))
            return math.copysign(1.0, dot(apart, direction))
    raise refusals.left_unknown()


@dataclass(frozen=True, slots=True)
class Side:
    """The weighted mean place of one side's surface along the pivot axis.

    value: mm; weights: (m,), the share of each point; u: (m,), mm, of each point along the axis;
    point: (3,) mean point; lever: mm, of the mean point from the axis; offset_share: the part of
    the weight that stands on corrected offsets; chi_square with m - 1 degrees of freedom.
    """

    places: list[int]
    value: float
    weights: Floats
    u: Floats
    point: Floats
    lever: float
    offset_share: float
    chi_square: float


def side(
    places: Sequence[int],
    xyz: Floats,
    offset: Floats,
    variance: Floats,
    outward: Floats,
    axis_point: Floats,
) -> Side:
    """One side's faces. xyz: (m, 3); offset: (m,) mm, 0 where none is known; variance: (m,)
    along the axis, mm²; outward: (3,) unit normal; axis_point: (3,) a point of the pivot axis.

    The value is told along the outward normal.
    """
    along = xyz @ outward - offset
    weights = 1.0 / variance
    total = float(weights.sum())
    weights = weights / total
    value = float(weights @ along)
    point = weights @ xyz
    arm = point - axis_point
    beside = arm - (arm @ outward) * outward
    difference = along - value
    return Side(
        list(places),
        value,
        weights,
        np.sqrt(variance),
        point,
        math.sqrt(float(beside @ beside)),
        float(weights[offset > 0.0].sum()),
        float((weights * total) @ (difference * difference)),
    )
