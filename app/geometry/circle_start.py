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
    places; toward: (3,), what the normal must agree with.
    Raises PointsTooClose.
    """
    needed = SPREAD_NEEDED_U * math.sqrt(max(variances.tolist()))
    alike = len(set(lifts.tolist())) == 1
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
