"""Two-sided statistical tolerance intervals of a normal population.

The interval mean ± k s of n values holds, with the stated confidence, at least the stated content
of the population they were drawn from. The factor k solves its defining equation by numerical
integration; no approximation stands in for it.
"""

import math
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.special import chdtrc, ndtr, ndtri

Floats = NDArray[np.float64]

NODES = 96
FARTHEST = 9.5
"""The mean of the sample lies farther out than so many of its standard deviations once in 1e21."""
STEPS = 60


class Interval(NamedTuple):
    lower: float
    upper: float
    factor: float


def interval(
    mean: float, deviation: float, count: int, content: float, confidence: float
) -> Interval:
    """Limits mean ± k s. deviation: the sample's standard deviation s, of n - 1 degrees of freedom.

    Raises ValueError as `two_sided_factor` does.
    """
    factor = two_sided_factor(count, content, confidence)
    return Interval(mean - factor * deviation, mean + factor * deviation, factor)


@lru_cache(maxsize=256)
def two_sided_factor(count: int, content: float, confidence: float) -> float:
    """Return k for `count` values from a normal population of unknown mean and deviation.

    content, confidence: between 0 and 1. Raises ValueError for fewer than two values and for
    probabilities that are none. Equation: k with
    P(Φ(m + k s) - Φ(m - k s) >= content) = confidence for m ~ N(0, 1/n), (n - 1) s² ~ χ²(n - 1);
    given m, the content is reached where k s >= r, r the solution of Φ(m + r) - Φ(m - r) = content.
    """
    if count < 2 or not 0.0 < content < 1.0 or not 0.0 < confidence < 1.0:
        raise ValueError(f"no tolerance interval of {count}, {content}, {confidence}")
    places, weights = _places_of_the_mean()
    radius = _radius(places / math.sqrt(count), content)
    low, high = 0.0, 1.0
    while _confidence(high, radius, weights, count) < confidence:
        low, high = high, 2.0 * high
    for _ in range(STEPS):
        middle = 0.5 * (low + high)
        if _confidence(middle, radius, weights, count) < confidence:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


@lru_cache(maxsize=1)
def _places_of_the_mean() -> tuple[Floats, Floats]:
    """Where the mean may lie, in its own standard deviations, and how likely each place is."""
    nodes, weights = np.polynomial.legendre.leggauss(NODES)
    places = 0.5 * FARTHEST * (nodes + 1.0)
    density = math.sqrt(2.0 / math.pi) * np.exp(-0.5 * places**2)
    return places, 0.5 * FARTHEST * weights * density


def _confidence(factor: float, radius: Floats, weights: Floats, count: int) -> float:
    """The probability that mean ± factor s holds the content."""
    freedom = count - 1
    return float(weights @ chdtrc(freedom, freedom * (radius / factor) ** 2))


def _radius(mean: Floats, content: float) -> Floats:
    """Half-width r of the interval about each mean that holds the content exactly."""
    low = np.full_like(mean, float(ndtri(0.5 * (1.0 + content))))
    high = low + mean
    for _ in range(STEPS):
        middle = 0.5 * (low + high)
        short = ndtr(mean + middle) - ndtr(mean - middle) < content
        low, high = np.where(short, middle, low), np.where(short, high, middle)
    return np.asarray(0.5 * (low + high), dtype=np.float64)
