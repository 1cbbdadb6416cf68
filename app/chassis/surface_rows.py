"""Rows of the faces: the places of the sides along the pivot axis, the height of the head's face.

A fixed hierarchy holds: the axes are told by their own points, and no face moves them (a damaged
face would drag the head's angle with it). So the rows of the faces enter the estimate with a weight
so small that their pull on the axes is nothing (its square, against rows of weight one), while
places, height and tilts, which nothing else tells, follow them in full.

`axis` is everywhere the (3, 3) rotation of the block's axis, `by_tilt` (2, 3, 3) its derivatives.
"""

import math

import numpy as np

from app.chassis.observations import HeadFace, Sides
from app.chassis.survey import Floats


def side_residuals(parameters: Floats, sides: Sides, axis: Floats, levers: Floats) -> Floats:
    """(m + sides,): place of the side less that of each of its points along the pivot axis, and
    the leans. A lean shifts its side by what it makes at the side's mean point."""
    lean = parameters[sides.lean]
    shifted = parameters[sides.column] + lean * levers
    count = len(sides.weight)
    values = np.empty(count + len(lean))
    values[:count] = shifted[sides.side] - (sides.place @ axis[:, 2] - sides.offset)
    values[:count] *= sides.weight
    values[count:] = lean * sides.of_tilt
    return values


def fill_side_slopes(slopes: Floats, sides: Sides, levers: Floats, by_tilt: Floats) -> None:
    """Derivatives (m + sides, p) of `side_residuals`, into zeros, where the leans are zero: as
    nothing tells them but their being observed as 0, they are so at the minimum."""
    count = len(sides.weight)
    slopes[:count, :2] = sides.place.dot(by_tilt[:, :, 2].T) * -sides.weight[:, np.newaxis]
    lever, of_weight = levers.tolist(), sides.weight.tolist()
    places, leans = sides.column.tolist(), sides.lean.tolist()
    for row, side in enumerate(sides.side.tolist()):
        slopes[row, places[side]] = of_weight[row]
        slopes[row, leans[side]] = of_weight[row] * lever[side]
    for row, lean in enumerate(leans, count):
        slopes[row, lean] = sides.of_tilt


def levers(sides: Sides, placed: Floats) -> Floats:
    """(sides,): distance of each side's mean point from the pivot axis, mm.

    placed: (3, 4), the rotation of that axis and where it passes.
    """
    (a, b, _, x), (c, d, _, y), (e, f, _, _) = placed.tolist()
    arms = [(p - x, q - y, r) for p, q, r in sides.mean]
    return np.array([math.hypot(p * a + q * c + r * e, p * b + q * d + r * f) for p, q, r in arms])


def arm(parameters: Floats, head: HeadFace) -> Floats:
    """(m, 3), mm: points of the face about where the axis passes its block."""
    x, y = parameters[head.axis + 2 : head.axis + 4].tolist()
    return np.asarray(head.place - (x, y, 0.0))


def head_residuals(parameters: Floats, head: HeadFace, axis: Floats, arm: Floats) -> Floats:
    """(m + 2,): height of the tilted plane less that of each of its points along the steering
    axis, and the two tilts themselves."""
    height, first, second = parameters[head.column : head.column + 3].tolist()
    off = height - head.offset - (arm @ axis) @ (-first, -second, 1.0)
    values = np.empty(len(off) + 2)
    values[:-2] = off * head.weight
    values[-2:] = first * head.of_tilt, second * head.of_tilt
    return values


def fill_head_slopes(
    slopes: Floats,
    parameters: Floats,
    head: HeadFace,
    axis: Floats,
    arm: Floats,
    by_tilt: Floats,
) -> None:
    """Derivatives (m + 2, p) of `head_residuals`, into zeros."""
    _, first, second = parameters[head.column : head.column + 3].tolist()
    tilted, weight = np.array((-first, -second, 1.0)), head.weight[:, np.newaxis]
    points, at, column = slopes[:-2], head.axis, head.column
    ways = np.empty((4, 3))
    ways[:2], ways[2:] = by_tilt.dot(-tilted), axis[:, :2].T
    turned = arm.dot(ways.T) * weight
    points[:, at : at + 2], points[:, column + 1 : column + 3] = turned[:, :2], turned[:, 2:]
    points[:, at + 2 : at + 4] = axis[:2].dot(tilted) * weight
    points[:, column] = head.weight
    slopes[-2, column + 1] = slopes[-1, column + 2] = head.of_tilt
