"""Constants of control charts for normal values: computed, since tables differ among themselves."""

import math
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.special import gammaln, ndtr

Floats = NDArray[np.float64]

REACH = 9.0
"""Beyond so many standard deviations nothing is left to integrate."""
NODES = 128


class RangeConstants(NamedTuple):
    """Of the range of n values from N(0, 1), and the limits of charts made from it."""

    d2: float
    """Mean of the range."""
    d3: float
    """Standard deviation of the range."""

    @property
    def lowest(self) -> float:
        """D3: the lower limit of a range chart over the mean range, three deviations below."""
        return max(0.0, 1.0 - 3.0 * self.d3 / self.d2)

    @property
    def highest(self) -> float:
        """D4: the upper limit of a range chart over the mean range, three deviations above."""
        return 1.0 + 3.0 * self.d3 / self.d2

    def mean_limit(self, count: int) -> float:
        """A2: three standard deviations of the mean of `count` values, over the mean range."""
        return 3.0 / (self.d2 * math.sqrt(count))

    def d2_star(self, groups: int) -> float:
        """d2*: root mean square of the mean range of so many groups, for estimating a variance."""
        return math.sqrt(self.d2**2 + self.d3**2 / groups)


@lru_cache(maxsize=128)
def range_constants(count: int) -> RangeConstants:
    """d2 and d3 for groups of `count` values, two or more; ValueError for fewer.

    Formulas: E(R) = ∫ 1 - Φⁿ - (1 - Φ)ⁿ dx and
    E(R²) = 2 ∬ 1 - Φ(y)ⁿ - (1 - Φ(x))ⁿ + (Φ(y) - Φ(x))ⁿ dx dy over x < y.
    """
    if count < 2:
        raise ValueError("a range needs two values")
    nodes, weights = _nodes()
    x, w = REACH * nodes, REACH * weights
    below, above = ndtr(x), ndtr(-x)
    mean = float(w @ (1.0 - below**count - above**count))
    # The inner integral runs from x upward: y = x + (REACH - x)(1 + node)/2.
    half = 0.5 * (REACH - x)
    y = x[:, None] + half[:, None] * (1.0 + nodes)
    inner = 1.0 - ndtr(y) ** count - above[:, None] ** count + (ndtr(y) - below[:, None]) ** count
    square = 2.0 * float(w @ (half * (inner @ weights)))
    return RangeConstants(mean, math.sqrt(square - mean**2))


@lru_cache(maxsize=1)
def _nodes() -> tuple[Floats, Floats]:
    nodes, weights = np.polynomial.legendre.leggauss(NODES)
    return nodes, weights


def c4(count: int) -> float:
    """Mean of the standard deviation of `count` values from N(0, 1); ValueError under two."""
    if count < 2:
        raise ValueError("a standard deviation needs two values")
    ratio = float(gammaln(0.5 * count) - gammaln(0.5 * (count - 1)))
    return math.sqrt(2.0 / (count - 1)) * math.exp(ratio)
