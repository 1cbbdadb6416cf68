"""A first circle in space, for the steps of the maximum-likelihood fit."""

import numpy as np

from app.geometry.circle_rows import Circles
from app.geometry.dual import Floats
from app.geometry.stacked import SPREAD_NEEDED_U, frames_along
from app.geometry.undetermined import PointsTooClose


def first_circle(places: Floats, variances: Floats, lifts: Floats, toward: Floats) -> Circles:
    """Best plane, then the circle in it whose equation is linear in centre and constant.

    places: (k, 3), mm; variances: (k,), mm²; lifts: (k,), mm along the normal, which is taken off
    the places before a second plane; toward: (3,). Raises PointsTooClose.
    """
    weights = (1.0 / variances) / np.sum(1.0 / variances)
    mean, normal = _plane(places, weights, variances, toward)
    lowered = places - np.outer(lifts, normal)
    if lifts.size and np.ptp(lifts) > 0.0:
        mean, normal = _plane(lowered, weights, variances, toward)
        lowered = places - np.outer(lifts, normal)
    else:
        mean = weights @ lowered
    frame = frames_along(normal)
    flat = (lowered - mean) @ frame[:2].T
    design = np.ones((len(flat), 3))
    design[:, :2] = 2.0 * flat
    weighted = design * weights[:, np.newaxis]
    squares = np.sum(flat * flat, axis=1)
    x, y, constant = np.linalg.solve(weighted.T @ design, weighted.T @ squares)
    centre = mean + x * frame[0] + y * frame[1]
    radius = np.sqrt(constant + x * x + y * y)
    return Circles(centre[np.newaxis], normal[np.newaxis], np.array([radius]))


def _plane(
    places: Floats, weights: Floats, variances: Floats, toward: Floats
) -> tuple[Floats, Floats]:
    """Weighted mean and unit normal."""
    mean = weights @ places
    arms = places - mean
    directions = np.linalg.eigh((arms * weights[:, np.newaxis]).T @ arms)[1]
    width = float(np.ptp(arms @ directions[:, 1]))
    needed = SPREAD_NEEDED_U * float(np.sqrt(variances.max()))
    if not width > needed:
        raise PointsTooClose(width, needed)
    normal = directions[:, 0]
    return mean, -normal if normal @ toward < 0.0 else normal
