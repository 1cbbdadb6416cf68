"""What several measured specimens say of the population they come from.

Scatter between the values holds the specimens' own differences and the measurements' independent
errors together; nothing here takes one from the other. What the measurements share shifts all
values alike: it shows in no scatter and is not averaged down.
"""

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from app.metrology.conformity import coverage_factor
from app.metrology.degrees_of_freedom import welch_satterthwaite
from app.metrology.grubbs import FEWEST, Grubbs, grubbs
from app.metrology.tolerance_interval import Interval, interval

Floats = NDArray[np.float64]


class Population(NamedTuple):
    """Mean with its uncertainty, the interval that holds the population, and the outlier test."""

    size: int
    """How many values."""
    mean: float
    deviation: float
    """Standard deviation of the values, measurement included."""
    own_uncertainty: float
    """Root mean square of what is independent in the uncertainty of one value."""
    shared_uncertainty: float
    """Of the mean, from what the measurements have in common."""
    scatter_below_own: bool
    """The values differ less than their own uncertainty says: then that stands for the scatter in
    the uncertainty of the mean."""
    standard_uncertainty: float
    """Of the mean."""
    degrees_of_freedom: float | None
    """None: infinite."""
    expanded_uncertainty: float
    interval: Interval
    test: Grubbs


def population(
    values: Floats,
    own: Floats,
    shared: Floats,
    content: float,
    confidence: float,
    significance: float = 0.05,
) -> Population:
    """Describe the population behind three values or more; ValueError for fewer.

    values, own: (n,) values and the independent part of their standard uncertainties; shared:
    (n, c) what each of c common causes contributes to each value, with its sign. Formulas:
    u²(mean) = max(s², mean of own²)/n + Σ(mean of shared)²; the interval as in
    `tolerance_interval`, from the values as they are.
    """
    count = len(values)
    if count < FEWEST:
        raise ValueError(f"a population is not described by {count} values")
    mean = float(np.mean(values))
    deviation = float(np.std(values, ddof=1))
    own_uncertainty = math.sqrt(float(np.mean(own**2)))
    common = float(np.linalg.norm(shared.mean(axis=0))) if shared.size else 0.0
    below = deviation < own_uncertainty
    scatter = max(deviation, own_uncertainty) / math.sqrt(count)
    freedom = welch_satterthwaite([scatter, common], [math.inf if below else count - 1, math.inf])
    u = math.hypot(scatter, common)
    return Population(
        count,
        mean,
        deviation,
        own_uncertainty,
        common,
        below,
        u,
        None if math.isinf(freedom) else freedom,
        u * coverage_factor(freedom),
        interval(mean, deviation, count, content, confidence),
        grubbs(values.tolist(), significance),
    )
