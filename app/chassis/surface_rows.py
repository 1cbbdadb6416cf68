"""Rows of the faces: the places of the sides along the pivot axis, the height of the head's face.

A fixed hierarchy holds: the axes are told by their own points, and no face moves them (a damaged
face would drag the head's angle with it). So the rows of the faces enter the estimate with a weight
so small that their pull on the axes is nothing (its square, against rows of weight one), while
places, height and tilts, which nothing else tells, follow them in full.
"""

import numpy as np

from app.chassis.observations import HeadFace, Sides
from app.chassis.rotation import Rows, rotation, rotation_slopes
from app.chassis.survey import Floats

HIERARCHY = 1e-5


def side_residuals(parameters: Floats, sides: Sides) -> Floats:
    """(m,): place of each surface point along the pivot axis less that of its side."""
    a, b = parameters[:2].tolist()
    axis = [row[2] for row in rotation(a, b)]
    along = sides.place @ axis - sides.offset - parameters[sides.column]
    return np.asarray(along * (HIERARCHY / sides.u))


def side_slopes(parameters: Floats, sides: Sides, unknowns: int) -> Floats:
    """(m, p): derivatives of `side_residuals`."""
    a, b = parameters[:2].tolist()
    slopes = np.zeros((len(sides.u), unknowns))
    slopes[:, :2] = sides.place @ np.array([_third(rows) for rows in rotation_slopes(a, b)]).T
    slopes[np.arange(len(sides.u)), sides.column] = -1.0
    return slopes * (HIERARCHY / sides.u)[:, np.newaxis]


def head_residuals(parameters: Floats, head: HeadFace) -> Floats:
    """(m + 2,): height of each surface point along the steering axis less that of the tilted
    plane, and the two tilts themselves."""
    a, b, x, y = parameters[head.axis : head.axis + 4].tolist()
    height, first, second = parameters[head.column : head.column + 3].tolist()
    local = (head.place - (x, y, 0.0)) @ np.array(rotation(a, b))
    off = local @ (-first, -second, 1.0) + head.offset - height
    return HIERARCHY * np.concatenate(
        (off / head.u, (-first / head.squareness, -second / head.squareness))
    )


def head_slopes(parameters: Floats, head: HeadFace, unknowns: int) -> Floats:
    """(m + 2, p): derivatives of `head_residuals`."""
    a, b, x, y = parameters[head.axis : head.axis + 4].tolist()
    _, first, second = parameters[head.column : head.column + 3].tolist()
    tilted = np.array((-first, -second, 1.0))
    arm = head.place - (x, y, 0.0)
    turned = np.array(rotation(a, b))
    by_a, by_b = np.array(rotation_slopes(a, b)) @ tilted
    count = len(head.u)
    slopes = np.zeros((count + 2, unknowns))
    slopes[:count, head.axis] = arm @ by_a
    slopes[:count, head.axis + 1] = arm @ by_b
    slopes[:count, head.axis + 2 : head.axis + 4] = -(turned @ tilted)[:2]
    slopes[:count, head.column] = -1.0
    slopes[:count, head.column + 1 : head.column + 3] = -(arm @ turned)[:, :2]
    slopes[:count] /= head.u[:, np.newaxis]
    slopes[count, head.column + 1] = slopes[count + 1, head.column + 2] = -1.0 / head.squareness
    slopes *= HIERARCHY
    return slopes


def _third(rows: Rows) -> tuple[float, float, float]:
    return (rows[0][2], rows[1][2], rows[2][2])
