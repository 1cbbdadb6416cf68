"""Where the steering axis meets the lower face of the head, and how square that face is to it.

The axis is given: the face fixes H along it and never moves it. The plane is told by its height
h on the axis and its tilts about two directions square to it,

    height of a point along the axis = h + tilt1 q1 + tilt2 q2,

with each tilt observed as 0 with the standard uncertainty `squareness`, so that one definition
holds for one point as for many.
"""

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from app.chassis.survey import Floats

LEVER_NEEDED_MM = 2.0
SINGULAR = 1e-13
"""Share of the better told tilt below which the other one is rounding."""


class Plane(NamedTuple):
    """The plane's three numbers and their derivatives.

    value: (3,) height (mm) and tilts (rad); gain: (3, m) by each point's displacement along the
    plane's normal; chi_square of the points about this plane plus that of the tilts where they were
    observed; left: (m,) mm, by how much each point lies above it.
    """

    value: Floats
    gain: Floats
    chi_square: float
    left: Floats


class Face(NamedTuple):
    """Points of the face as the axis sees them.

    arm: (m, 3) from the axis's point; lateral: (m, 2) q1, q2; height: (m,) along the axis,
    offsets corrected; variance: (m,) mm² along the axis; frame: the third column is the axis.
    """

    arm: Floats
    lateral: Floats
    height: Floats
    variance: Floats
    frame: Floats

    def only(self, rows: slice) -> "Face":
        return Face(
            self.arm[rows],
            self.lateral[rows],
            self.height[rows],
            self.variance[rows],
            self.frame,
        )


def face(xyz: Floats, offset: Floats, variance: Floats, point: Floats, frame: Floats) -> Face:
    """xyz: (m, 3), offset: (m,) mm outward (against the axis), variance: (m,) mm² along the axis;
    point: (3,) of the axis, frame: (3, 3) whose third column is the axis, upward."""
    arm: Floats = xyz - point
    local = arm.dot(frame)
    return Face(arm, local[:, :2], local[:, 2] + offset, variance, frame)


def plane(face: Face, squareness: float | None) -> Plane:
    """Weighted least squares; squareness in radians, or None: from the points alone.

    Told about the points' weighted mean, where height and tilts do not mix: neither very small
    uncertainties nor very uneven ones then drown one in the other's rounding. Raises
    numpy.linalg.LinAlgError where the points alone leave a tilt free.
    """
    count, lateral, root = len(face.height), face.lateral, 1.0 / np.sqrt(face.variance)
    share = root * root
    share /= share.sum()
    centre, middle = share.dot(lateral), float(share.dot(face.height))
    lateral, height = lateral - centre, face.height - middle
    rows = lateral.T * root
    if squareness is not None:
        rows = np.concatenate((rows, np.eye(2) / squareness), axis=1)
    (one, mixed, other), basis = _triangle(*rows)
    gain = np.empty((3, count))
    by_tilt = gain[1:]
    by_tilt[1] = basis[1][:count] * root / other
    by_tilt[0] = (basis[0][:count] * root - mixed * by_tilt[1]) / one
    gain[0] = share - centre.dot(by_tilt)
    tilts = by_tilt.dot(height)
    first, second = tilts.tolist()
    left = height - lateral.dot(tilts)
    whitened = left * root
    observed = 0.0 if squareness is None else (first**2 + second**2) / squareness**2
    return Plane(
        np.array((middle - float(centre.dot(tilts)), first, second)),
        gain,
        float(whitened.dot(whitened)) + observed,
        left,
    )


def _triangle(
    first: Floats, second: Floats
) -> tuple[tuple[float, float, float], tuple[Floats, Floats]]:
    """The length of the first, the share of the second along it and the length of its rest; unit
    vectors of the first and of that rest.

    By Gram and Schmidt's method; done twice, the rest is square to the first to the last digit
    (W. Kahan and B. Parlett; from memory). Raises numpy.linalg.LinAlgError where one or the other
    is nothing but rounding.
    """
    one = math.sqrt(float(first.dot(first)))
    first = first / (one or 1.0)
    mixed = float(first.dot(second))
    rest = second - mixed * first
    rest = rest - float(first.dot(rest)) * first
    other = math.sqrt(float(rest.dot(rest)))
    if not min(one, other) > SINGULAR * max(one, abs(mixed), other):
        raise np.linalg.LinAlgError("the points leave a tilt free")
    return (one, mixed, other), (first, rest / other)


def by_axis(face: Face, plane: Plane, by_point: Floats) -> list[float]:
    """(6,): derivatives by the axis's unit vector and by its point of what depends so on the
    points' heights (m,) above the plane."""
    tilted = face.frame[:, :2].dot(plane.value[1:])
    along = face.arm.dot(face.frame[:, 2])
    by_direction = by_point.dot(face.arm) + float(by_point.dot(along)) * tilted
    by_place = float(by_point.sum()) * (tilted - face.frame[:, 2])
    return [*by_direction.tolist(), *by_place.tolist()]


def chi_squares(face: Face, heights: Sequence[Floats], squareness: float) -> list[float]:
    """Of each of some heights (m,) of the points, about the plane that fits them best; the tilts,
    observed as 0, count as well."""
    if len(face.height) == 1:
        return [0.0] * len(heights)
    return _about_planes(face.lateral.T, heights, face.variance, squareness)


def _about_planes(
    levers: Floats, heights: Sequence[Floats], variance: Floats, squareness: float | None
) -> list[float]:
    """levers: (k, m), mm, along which the planes may tilt.

    By Gram and Schmidt's method, modified; with the heights taken along it is as accurate as
    reflections are (Å. Björck, BIT 7 (1967) 1-21; from memory).
    """
    tilts, root = len(levers), 1.0 / np.sqrt(variance)
    share = root * root
    share /= share.sum()
    rows = np.concatenate((levers, heights))
    rows = (rows - rows.dot(share)[:, np.newaxis]) * root
    if squareness is not None:
        rows = np.concatenate((rows, np.eye(len(rows), tilts) / squareness), axis=1)
    for place, row in enumerate(rows[:tilts], 1):
        along = rows[place:].dot(row)
        along /= row.dot(row)
        rows[place:] -= np.multiply.outer(along, row)
    left = rows[tilts:]
    chi_square: list[float] = (left * left).sum(axis=1).tolist()
    return chi_square


def own_plane(face: Face) -> Plane | None:
    """The plane from the points alone; None where they do not tell its tilts."""
    if not tells_tilt(face):
        return None
    try:
        return plane(face, None)
    except np.linalg.LinAlgError:
        return None


def scatter(face: Face) -> tuple[float, int]:
    """Chi-square of the points alone about their own plane, and its degrees of freedom.

    Where the points lie so close together across the axis that a tilt could not be told from
    their scatter, the plane is not tilted that way.
    """
    ways = _wide_ways(face)
    freedom = len(face.height) - 1 - len(ways)
    if freedom <= 0:
        return 0.0, 0
    levers = np.array(ways).reshape(-1, 2).dot(face.lateral.T)
    return _about_planes(levers, [face.height], face.variance, None)[0], freedom


def tells_tilt(face: Face) -> bool:
    """Whether three points or more span an area wide enough for a plane of their own."""
    return len(face.height) >= 3 and len(_wide_ways(face)) == 2


def _wide_ways(face: Face) -> list[tuple[float, float]]:
    """The principal directions across the axis in which the points lie far enough apart to tell a
    tilt from their scatter."""
    count = len(face.height)
    if count < 2:
        return []
    beside = face.lateral - face.lateral.sum(axis=0) / count
    (xx, xy), (_, yy) = beside.T.dot(beside).tolist()
    middle, half = (xx + yy) / 2.0, (xx - yy) / 2.0
    uneven, angle = math.hypot(half, xy), math.atan2(xy, half) / 2.0
    cosine, sine = math.cos(angle), math.sin(angle)
    ways = ((middle + uneven, (cosine, sine)), (middle - uneven, (-sine, cosine)))
    return [way for square, way in ways if square > LEVER_NEEDED_MM**2 * count]
