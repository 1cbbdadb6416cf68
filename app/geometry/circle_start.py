"""A first circle in space, for the steps of the maximum-likelihood fit."""

import math

import numpy as np

from app.geometry.circle_rows import Circle
from app.geometry.dual import Floats
from app.geometry.stacked import SPREAD_NEEDED_U, frame_along
from app.geometry.undetermined import PointsTooClose


def first_circle(places: Floats, variances: Floats, lifts: Floats, toward: Floats) -> Circle:
    """Best plane, then the circle in it whose equation is linear in centre and constant.

    places: (k, 3), mm; variances: (k,), mm²; lifts: (k,), mm along the normal, taken off the
    places; toward: (3,), what the normal must agree with. Exact for three points of one lift.
    Raises PointsTooClose.
    """
    needed = SPREAD_NEEDED_U * math.sqrt(max(variances.tolist()))
    alike = len(set(lifts.tolist())) == 1
    if len(places) == 3 and alike:
        return _through_three(places, lifts.item(0), needed, toward)
    weights = 1.0 / variances
    weights /= weights.sum()
    normal = _plane(places, weights, needed, toward)
    lowered = places - lifts[:, np.newaxis] * normal
    if not alike:
        normal = _plane(lowered, weights, needed, toward)
        lowered = places - lifts[:, np.newaxis] * normal
    mean = weights @ lowered
    frame = frame_along(normal)
    arms = lowered - mean
    design = np.ones((len(arms), 3))
    design[:, :2] = arms @ frame[:2].T
    weighted = design * weights[:, np.newaxis]
    squares = (arms * arms).sum(axis=1)
    x, y, constant = np.linalg.solve(weighted.T @ design, weighted.T @ squares).tolist()
    x, y = x / 2.0, y / 2.0
    return Circle(mean + (x, y) @ frame[:2], frame, (constant + x * x + y * y) ** 0.5)


def _plane(places: Floats, weights: Floats, needed: float, toward: Floats) -> Floats:
    """Unit normal of the best plane."""
    arms = places - weights @ places
    directions = np.linalg.eigh((arms * weights[:, np.newaxis]).T @ arms)[1]
    across = arms @ directions[:, 1]
    width = float(across.max() - across.min())
    if not width > needed:
        raise PointsTooClose(width, needed)
    normal: Floats = directions[:, 0]
    return -normal if normal @ toward < 0.0 else normal


def _through_three(places: Floats, lift: float, needed: float, toward: Floats) -> Circle:
    """Circumcircle of a triangle, with edges a and b from one corner, n = a x b: the centre lies
    (|a|^2 b - |b|^2 a) x n / (2 n^2) from that corner."""
    corner, second, third = places.tolist()
    a, b = _minus(second, corner), _minus(third, corner)
    n = _cross(a, b)
    area = math.hypot(*n)
    longest = max(math.hypot(*a), math.hypot(*b), math.dist(second, third))
    width = area / longest if longest > 0.0 else 0.0
    if not width > needed:
        raise PointsTooClose(width, needed)
    of_a, of_b = math.hypot(*a) ** 2, math.hypot(*b) ** 2
    across = _cross([of_a * q - of_b * p for p, q in zip(a, b, strict=True)], n)
    arm = np.array(across) / (2.0 * area * area)
    normal = np.array(n) / area
    if normal @ toward < 0.0:
        normal = -normal
    return Circle(places[0] + arm - lift * normal, frame_along(normal), math.hypot(*arm.tolist()))


def _minus(one: list[float], other: list[float]) -> list[float]:
    return [p - q for p, q in zip(one, other, strict=True)]


def _cross(a: list[float], b: list[float]) -> list[float]:
    return [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
