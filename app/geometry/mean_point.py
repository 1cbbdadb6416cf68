"""The mean of a point that was measured several times."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from app.geometry.dual import Floats, Vector
from app.geometry.stacked import Stacked, stacked


@dataclass(frozen=True, slots=True)
class FittedPoint:
    point: Vector
    chi_square: Floats | float
    """Sum of the squared residuals, whitened by the spread; over trials (trials,)."""
    degrees_of_freedom: int


def fit_point(points: Sequence[Vector], spread: Floats) -> FittedPoint:
    """The maximum-likelihood place of one point that was measured k times.

    points: k of them, mm, all with slopes or all over trials; spread: (k,) variances of a
    coordinate, or (k, 3, 3) covariances, mm². Degrees of freedom 3 (k - 1). Weighted mean,
    generalised least squares. Raises TooFewPoints for none.
    """
    given = stacked(points, spread, 1)
    weights = _weights(given)
    total = np.linalg.inv(weights.sum(axis=0))
    local = (total @ weights).transpose(1, 0, 2).reshape(3, -1)
    mean = np.tensordot(local.reshape(3, len(points), 3), given.places, ((1, 2), (0, 1)))
    off = given.places - mean
    weighted = np.einsum("kij,kj...->ki...", weights, off)
    slopes = None if given.slopes is None else local @ given.slopes
    chi_square = np.sum(off * weighted, axis=(0, 1))
    return FittedPoint(Vector(mean, slopes), chi_square, 3 * (len(points) - 1))


def _weights(given: Stacked) -> Floats:
    """(k, 3, 3): inverse covariances."""
    if given.covariances is not None:
        return np.asarray(np.linalg.inv(given.covariances), dtype=np.float64)
    return np.asarray(np.eye(3) / given.variances[:, np.newaxis, np.newaxis])
