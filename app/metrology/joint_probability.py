"""Probability that several correlated quantities lie within their limits at once.

Method: separation of variables for multivariate normal and Student integrals over a rectangle
(A. Genz, J. Comput. Graph. Stat. 1 (1992) 141-149; Student form: A. Genz and F. Bretz, J. Comput.
Graph. Stat. 11 (2002) 950-971; covariances without full rank: A. Genz and K.-S. Kwong, J. Stat.
Comput. Simul. 68 (2000) 1-21), evaluated on fixed Korobov lattices instead of random points, so
that the same input always gives the same number. References named from memory.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import gammaincinv, ndtr, ndtri, stdtr

Floats = NDArray[np.float64]

# Prime sizes and multipliers. Each multiplier had the smallest worst-case error (product weights
# 0.7^j, eleven dimensions) of all multipliers for the three small sizes and of a sample for the
# two large ones.
LATTICES = ((1021, 313), (4093, 240), (16381, 5715), (65521, 4476), (262139, 114594))
AGREEMENT = 1e-5
NEGLIGIBLE = 1e-7
"""A quantity that is within but for this takes no part: it changes the answer by less."""
RANK_TOLERANCE = 1e-10
SMALLEST_COEFFICIENT = 1e-6
NORMAL_FROM = 50.0


class _Factor(NamedTuple):
    """Standardised limits and a triangular factor; row i reaches no column after `last[i]`."""

    triangle: Floats
    lower: Floats
    upper: Floats
    last: NDArray[np.intp]


def joint_probability(
    mean: ArrayLike,
    covariance: ArrayLike,
    lower: ArrayLike,
    upper: ArrayLike,
    dof: float | None = None,
) -> float:
    """Probability that lower <= x <= upper holds for all n components of x at once.

    mean, lower, upper: (n,); covariance: (n, n), may lack full rank (duplicates, sums); limits
    may be infinite. dof: degrees of freedom of a multivariate Student distribution with this
    scale matrix; None or 50 and more: normal. Good to about 1e-5 up to ten dimensions, to 1e-4
    where ten quantities are nearly dependent.
    """
    centre, scale = np.asarray(mean, dtype=float), np.asarray(covariance, dtype=float)
    low, high = np.asarray(lower, dtype=float) - centre, np.asarray(upper, dtype=float) - centre
    deviation = np.sqrt(np.clip(np.diag(scale), 0.0, None))
    certain = deviation == 0.0
    if np.any(low[certain] > 0.0) or np.any(high[certain] < 0.0):
        return 0.0
    size = np.where(certain, 1.0, deviation)
    low, high = low / size, high / size
    freedom = None if dof is None or dof >= NORMAL_FROM else dof
    lacking = np.where(certain, 0.0, _cumulative(low, freedom) + _cumulative(-high, freedom))
    keep = lacking > NEGLIGIBLE
    if np.count_nonzero(keep) < 2:
        return max(0.0, 1.0 - float(lacking.sum()))
    correlation = (scale / np.outer(size, size))[np.ix_(keep, keep)]
    return _integrate(_factorise(correlation, low[keep], high[keep]), freedom)


def _cumulative(z: Floats, dof: float | None) -> Floats:
    return np.asarray(ndtr(z) if dof is None else stdtr(dof, z), dtype=np.float64)


def _factorise(correlation: Floats, lower: Floats, upper: Floats) -> _Factor:
    """Cholesky factor with the tightest limits first, stopping where the rank ends."""
    count = len(lower)
    triangle = np.zeros((count, count))
    expected = np.zeros(count)
    left = np.ones(count, dtype=bool)
    for column in range(count):
        variance = np.diag(correlation) - np.sum(triangle**2, axis=1)
        left &= variance > RANK_TOLERANCE
        if not left.any():
            break
        spread = np.sqrt(np.where(left, variance, 1.0))
        shift = triangle @ expected
        below, above = ndtr((lower - shift) / spread), ndtr((upper - shift) / spread)
        pivot = int(np.argmin(np.where(left, above - below, np.inf)))
        rest = correlation[:, pivot] - triangle @ triangle[pivot]
        triangle[left, column] = rest[left] / spread[pivot]
        left[pivot] = False
        expected[column] = _truncated_mean(
            (lower[pivot] - shift[pivot]) / spread[pivot],
            (upper[pivot] - shift[pivot]) / spread[pivot],
        )
    reaches = np.abs(triangle) > SMALLEST_COEFFICIENT
    last = count - 1 - np.argmax(reaches[:, ::-1], axis=1)
    return _Factor(triangle, lower, upper, last)


def _truncated_mean(lower: float, upper: float) -> float:
    """Mean of a standard normal variable cut off at both limits."""
    mass = float(ndtr(upper) - ndtr(lower))
    if mass < 1e-10:
        return float(np.clip(0.0, lower, upper))
    density = np.exp(-0.5 * np.array([lower, upper]) ** 2) / np.sqrt(2.0 * np.pi)
    return float((density[0] - density[1]) / mass)


def _integrate(factor: _Factor, dof: float | None) -> float:
    rank = int(factor.last.max()) + 1
    if rank == 1:
        return _one_dimension(factor, dof)
    values: list[float] = []
    for size, multiplier in LATTICES:
        points = _lattice(size, multiplier, rank - 1 if dof is None else rank)
        values.append(float(np.mean(_separated(factor, rank, points, dof))))
        # Two lattices can agree by accident; three hardly. In one dimension they are equal steps.
        needed = 2 if points.shape[1] == 1 else 3
        if len(values) >= needed and np.ptp(values[-needed:]) < AGREEMENT:
            break
    return values[-1]


def _one_dimension(factor: _Factor, dof: float | None) -> float:
    low, high = _limits(factor, 0, np.zeros((1, 0)), np.ones(1))
    if high[0] <= low[0]:
        return 0.0
    return float((_cumulative(high, dof) - _cumulative(low, dof))[0])


def _lattice(size: int, multiplier: int, dimensions: int) -> Floats:
    """(size, dimensions) points of the unit cube, folded so that the integrand is periodic."""
    generator = np.array([pow(multiplier, power, size) for power in range(dimensions)])
    fraction = np.modf((np.arange(size) + 0.5)[:, np.newaxis] * generator / size)[0]
    folded: Floats = 1.0 - np.abs(2.0 * fraction - 1.0)
    return folded


def _separated(factor: _Factor, rank: int, points: Floats, dof: float | None) -> Floats:
    """The integrand at each point: the product of the conditional probabilities."""
    stretch = np.ones(len(points))
    if dof is not None:
        stretch = np.sqrt(2.0 * gammaincinv(dof / 2.0, points[:, 0]) / dof)
        points = points[:, 1:]
    values = np.zeros((len(points), rank))
    product = np.ones(len(points))
    for column in range(rank):
        low, high = _limits(factor, column, values[:, :column], stretch)
        below = ndtr(low)
        width = np.clip(ndtr(high) - below, 0.0, None)
        product *= width
        if column < rank - 1:
            level = np.clip(below + points[:, column] * width, 1e-300, 1.0 - 1e-16)
            values[:, column] = ndtri(level)
    return product


def _limits(factor: _Factor, column: int, values: Floats, stretch: Floats) -> tuple[Floats, Floats]:
    """Limits of one variable, given the earlier ones, by all rows that end at its column."""
    low, high = np.full(len(stretch), -np.inf), np.full(len(stretch), np.inf)
    for row in np.flatnonzero(factor.last == column):
        slope = factor.triangle[row, column]
        known = values @ factor.triangle[row, :column]
        one = (factor.lower[row] * stretch - known) / slope
        other = (factor.upper[row] * stretch - known) / slope
        low = np.maximum(low, one if slope > 0.0 else other)
        high = np.minimum(high, other if slope > 0.0 else one)
    return low, high
