"""Straight lines in space."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Line:
    point: Floats
    """(3,), mm."""
    direction: Floats
    """(3,), of unit length; its sign means nothing."""


def fit_line(points: Floats, weights: ArrayLike | None = None) -> Line:
    """The line that minimises the weighted sum of squared distances of the points.

    points: (n, 3), mm; weights: (n,), one over the variance of each point's coordinates, default
    equal. The line's point is the weighted mean. Raises ValueError for fewer than two points.
    Formula: first principal direction of the points (K. Pearson, Phil. Mag. 2 (1901) 559-572).
    """
    if len(points) < 2:
        raise ValueError("a line needs two points")
    root = np.sqrt(np.ones(len(points)) if weights is None else np.asarray(weights, dtype=float))
    mean = root**2 @ points / np.sum(root**2)
    directions = np.linalg.svd((points - mean) * root[:, np.newaxis], full_matrices=False)[2]
    return Line(mean, directions[0])


def foot(line: Line, point: Floats) -> Floats:
    """The point of the line nearest to each given point, (3,) or (n, 3), mm."""
    along = (point - line.point) @ line.direction
    nearest: Floats = line.point + np.multiply.outer(along, line.direction)
    return nearest


def distance(line: Line, point: Floats) -> Floats:
    """Distance of each given point, (3,) or (n, 3), from the line, mm."""
    length: Floats = np.linalg.norm(point - foot(line, point), axis=-1)
    return length
