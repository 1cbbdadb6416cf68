"""Control charts for single values in order of time: individuals, EWMA, tabular CUSUM.

Whatever the unit of the values, all limits are in it; arrays are (n,), one entry a value.
Formulas: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2 to 6.3.2.4.
"""

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from app.metrology.range_constants import range_constants

Floats = NDArray[np.float64]

WIDTH = 3.0
"""Limits stand so many standard deviations from the centre."""


class Individuals(NamedTuple):
    """Centre and limits of a chart of single values and of their moving ranges."""

    centre: float
    deviation: float
    """Standard deviation of one value, by the mean moving range."""
    lower: float
    upper: float
    mean_range: float
    upper_range: float


class Ewma(NamedTuple):
    """Exponentially weighted moving averages, with the limits of each."""

    averages: Floats
    lower: Floats
    upper: Floats
    lower_limit: float
    """The limits that are reached after many values."""
    upper_limit: float


class Cusum(NamedTuple):
    """Sums of what exceeds the allowance on each side, and the first value that signals."""

    high: Floats
    low: Floats
    first_signal: int | None
    """Index, from 0; None: no signal."""


def individuals(values: Sequence[float]) -> Individuals:
    """Centre and limits from values in order of time, two or more; ValueError for fewer."""
    if len(values) < 2:
        raise ValueError("a moving range needs two values")
    pair = range_constants(2)
    centre = float(np.mean(values))
    mean_range = float(np.mean(np.abs(np.diff(values))))
    deviation = mean_range / pair.d2
    away = WIDTH * deviation
    return Individuals(
        centre, deviation, centre - away, centre + away, mean_range, pair.highest * mean_range
    )


def range_freedom(count: int) -> float:
    """Degrees of freedom that the deviation by the mean moving range of `count` values is worth.

    To first order the relative variance of a deviation with ν degrees of freedom is 1/(2ν). That
    of the mean of n - 1 absolute differences of neighbours follows from the variance 2 - 4/π of
    one and the covariance of two that share a value, (4/π)(√(1 - ρ²) + ρ asin ρ) - 4/π, ρ = -1/2.
    Raises ValueError for fewer than two values.
    """
    if count < 2:
        raise ValueError("a moving range needs two values")
    ranges, square = count - 1, 4.0 / math.pi
    alone = 2.0 - square
    beside = square * (math.sqrt(0.75) + 0.5 * math.asin(0.5)) - square
    variance = (ranges * alone + 2.0 * (ranges - 1) * beside) / ranges**2
    return 0.5 * square / variance


def ewma(
    values: Sequence[float], weight: float, centre: float, deviation: float, width: float = WIDTH
) -> Ewma:
    """Averages that start from `centre`, each new value with `weight` (above 0, at most 1).

    The limits of each average allow for how many values it holds. Raises ValueError for a weight
    that is none.
    """
    if not 0.0 < weight <= 1.0:
        raise ValueError(f"no weight: {weight}")
    averages, average = [], centre
    for value in values:
        average = weight * value + (1.0 - weight) * average
        averages.append(average)
    steps = np.arange(1, len(values) + 1)
    steady = width * deviation * math.sqrt(weight / (2.0 - weight))
    away = steady * np.sqrt(1.0 - (1.0 - weight) ** (2.0 * steps))
    return Ewma(np.array(averages), centre - away, centre + away, centre - steady, centre + steady)


def cusum(values: Sequence[float], target: float, allowance: float, decision: float) -> Cusum:
    """Tabular sums of deviations from `target` beyond `allowance`; above `decision` they signal.

    All three in the unit of the values (e-Handbook, 6.3.2.3: allowance k, decision interval h).
    """
    high, low = [0.0], [0.0]
    for value in values:
        high.append(max(0.0, high[-1] + value - target - allowance))
        low.append(max(0.0, low[-1] + target - allowance - value))
    above, below = np.array(high[1:]), np.array(low[1:])
    beyond = np.flatnonzero((above > decision) | (below > decision))
    return Cusum(above, below, int(beyond[0]) if len(beyond) else None)
