"""Planes in space."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Plane:
    point: Floats
    """(3,), mm."""
    normal: Floats
    """(3,), of unit length; its sign means nothing."""


def fit_plane(points: Floats, weights: ArrayLike | None = None) -> Plane:
    """The plane that minimises the weighted sum of squared distances of the points.

    points: (n, 3), mm; weights: (n,), one over the variance of each point's coordinates, default
    equal. The plane's point is the weighted mean. Raises ValueError for fewer than three points.
    Formula: last principal direction of the points (K. Pearson, Phil. Mag. 2 (1901) 559-572).
    """
    if len(points) < 3:
        raise ValueError("a plane needs three points")
    root = np.sqrt(np.ones(len(points)) if weights is None else np.asarray(weights, dtype=float))
    mean = root**2 @ points / np.sum(root**2)
    directions = np.linalg.svd((points - mean) * root[:, np.newaxis], full_matrices=False)[2]
    return Plane(mean, directions[2])


def distance(plane: Plane, point: Floats) -> Floats:
    """Signed distance of each given point, (3,) or (n, 3), along the plane's normal, mm."""
    height: Floats = (point - plane.point) @ plane.normal
    return height
