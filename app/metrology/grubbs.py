"""Is the value farthest from the mean an outlier? Grubbs' test; it shows, it never drops."""

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from scipy.special import stdtrit

FEWEST = 3


class Grubbs(NamedTuple):
    """The test of the one value that stands farthest out."""

    place: int
    """Which value it is, from 0."""
    statistic: float
    """Its distance from the mean in standard deviations of the sample."""
    critical: float
    outlier: bool


def grubbs(values: Sequence[float], significance: float = 0.05, side: str | None = None) -> Grubbs:
    """Test the value farthest from the mean; `side` (`above`, `below`) asks for that side alone.

    values: three or more, from a normal population but for the one. Raises ValueError for fewer.
    Without any scatter the statistic is 0. Formula: NIST/SEMATECH e-Handbook of Statistical
    Methods, 1.3.5.17.1.
    """
    count = len(values)
    if count < FEWEST:
        raise ValueError(f"Grubbs' test needs {FEWEST} values, not {count}")
    deviations = np.asarray(values, dtype=np.float64) - np.mean(values)
    scatter = math.sqrt(float(deviations @ deviations) / (count - 1))
    away = {"above": deviations, "below": -deviations}.get(side or "", np.abs(deviations))
    place = int(np.argmax(away))
    statistic = float(away[place]) / scatter if scatter > 0.0 else 0.0
    critical = critical_value(count, significance, two_sided=side is None)
    return Grubbs(place, statistic, critical, statistic > critical)


def critical_value(count: int, significance: float, *, two_sided: bool = True) -> float:
    """The value that the statistic of `count` sound values exceeds with this probability."""
    tail = significance / (2.0 * count if two_sided else count)
    squared = float(stdtrit(count - 2, tail)) ** 2
    return (count - 1) / math.sqrt(count) * math.sqrt(squared / (count - 2 + squared))
