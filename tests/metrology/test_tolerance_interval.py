"""Tolerance intervals: the defining equation by other means, and what they promise, simulated."""

import math

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import brentq
from scipy.special import chdtrc, ndtr

from app.metrology.tolerance_interval import interval, two_sided_factor

CASES = [
    (2, 0.9, 0.95), (3, 0.9, 0.95), (5, 0.5, 0.5), (5, 0.999, 0.999), (12, 0.9, 0.95),
    (50, 0.95, 0.99), (1000, 0.8, 0.9),
]  # fmt: skip


def confidence_of(factor: float, count: int, content: float) -> float:
    """The defining equation by adaptive quadrature and another root finder."""

    def radius(mean: float) -> float:
        def missing(r: float) -> float:
            return float(ndtr(mean + r) - ndtr(mean - r)) - content

        return float(brentq(missing, 0.0, mean + 10.0, xtol=1e-15))

    def integrand(mean: float) -> float:
        square = (count - 1) * (radius(mean) / factor) ** 2
        return float(chdtrc(count - 1, square)) * math.exp(-0.5 * count * mean**2)

    whole = quad(integrand, 0.0, 10.0 / math.sqrt(count), epsabs=1e-13, limit=200)[0]
    return math.sqrt(2.0 * count / math.pi) * whole


@pytest.mark.parametrize(("count", "content", "confidence"), CASES)
def test_the_factor_solves_its_defining_equation(
    count: int, content: float, confidence: float
) -> None:
    factor = two_sided_factor(count, content, confidence)
    assert confidence_of(factor, count, content) == pytest.approx(confidence, abs=1e-9)


@pytest.mark.parametrize(("count", "content", "confidence"), [(3, 0.9, 0.95), (10, 0.95, 0.9)])
def test_so_many_intervals_hold_the_content_as_the_confidence_says(
    count: int, content: float, confidence: float
) -> None:
    """100,000 drawn samples; the share is known to a standard deviation of under 0.001."""
    drawn = np.random.default_rng(20261125).normal(3.0, 2.0, (100_000, count))
    factor = two_sided_factor(count, content, confidence)
    half = factor * drawn.std(axis=1, ddof=1)
    mean = drawn.mean(axis=1)
    held = ndtr((mean + half - 3.0) / 2.0) - ndtr((mean - half - 3.0) / 2.0) >= content
    assert held.mean() == pytest.approx(confidence, abs=0.004)


def test_the_interval_stands_evenly_about_the_mean() -> None:
    found = interval(10.0, 2.0, 8, 0.9, 0.95)
    assert found.upper - 10.0 == pytest.approx(10.0 - found.lower, rel=1e-14)
    assert found.upper - 10.0 == pytest.approx(2.0 * found.factor, rel=1e-14)


@pytest.mark.parametrize(
    ("count", "content", "confidence"),
    [(1, 0.9, 0.95), (0, 0.9, 0.95), (5, 0.0, 0.95), (5, 1.0, 0.95), (5, 0.9, 1.0), (5, 0.9, -1.0)],
)
def test_what_has_no_interval_is_refused(count: int, content: float, confidence: float) -> None:
    with pytest.raises(ValueError, match="no tolerance interval"):
        two_sided_factor(count, content, confidence)
