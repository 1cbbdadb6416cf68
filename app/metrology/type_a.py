"""Evaluation of uncertainty from repeated observations, and the limits that test it."""

import numpy as np
from numpy.typing import NDArray
from scipy.special import chdtrc, chdtri, fdtrc, fdtri

Floats = NDArray[np.float64]


def mean_and_covariance(observations: Floats) -> tuple[Floats, Floats]:
    """Means (m,) of m quantities and the (m, m) covariance of these means.

    observations: (n, m), n sets observed together, two or more. Formulas: JCGM 100:2008,
    equations (3), (5) and (17).
    """
    count = len(observations)
    mean: Floats = np.mean(observations, axis=0)
    residual = observations - mean
    covariance: Floats = residual.T @ residual / (count * (count - 1))
    return mean, covariance


def chi_square_limit(tail: float, degrees_of_freedom: float) -> float:
    """The value that chi-square exceeds with probability `tail`."""
    return float(chdtri(degrees_of_freedom, tail))


def chi_square_tail(statistic: float, degrees_of_freedom: float) -> float:
    """The probability that chi-square exceeds the statistic."""
    return float(chdtrc(degrees_of_freedom, statistic))


def f_limit(tail: float, numerator: float, denominator: float) -> float:
    """The value that the F ratio with these degrees of freedom exceeds with probability `tail`."""
    return float(fdtri(numerator, denominator, 1.0 - tail))


def f_tail(statistic: float, numerator: float, denominator: float) -> float:
    """The probability that the F ratio with these degrees of freedom exceeds the statistic."""
    return float(fdtrc(numerator, denominator, statistic))
