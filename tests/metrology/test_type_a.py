"""Repeated observations, and the limits that the engine's checks stand on."""

import math

import numpy as np
import pytest
from scipy import stats

from app.metrology.type_a import (
    chi_square_limit,
    chi_square_tail,
    f_limit,
    f_tail,
    pooled_variance,
)


def test_pooled_variance_is_that_of_all_residuals() -> None:
    groups = [
        np.array([[0.0, 0.0, 0.0], [0.2, 0.0, 0.0]]),
        np.array([[1.0, 1.0, 1.0], [1.0, 1.3, 1.0], [1.0, 1.0, 1.0]]),
        np.array([[5.0, 5.0, 5.0]]),
    ]
    variance, freedom = pooled_variance(groups)
    assert freedom == 3 * (1 + 2)
    assert variance == pytest.approx((0.02 + 0.06) / 9)


def test_nothing_repeated_gives_no_variance() -> None:
    variance, freedom = pooled_variance([np.array([[1.0, 2.0, 3.0]])])
    assert math.isnan(variance)
    assert freedom == 0


@pytest.mark.parametrize(("freedom", "limit"), [(2, 13.82), (5, 20.52), (8, 26.12), (16, 39.25)])
def test_chi_square_limits_at_one_in_a_thousand(freedom: int, limit: float) -> None:
    """Upper 0.1 % points, as any table of chi-square prints them (from memory)."""
    assert chi_square_limit(0.001, freedom) == pytest.approx(limit, abs=0.005)
    assert chi_square_tail(chi_square_limit(0.001, freedom), freedom) == pytest.approx(0.001)


def test_f_limits_agree_with_scipy_stats() -> None:
    assert f_limit(0.001, 5, 16) == pytest.approx(stats.f.isf(0.001, 5, 16), rel=1e-10)
    assert f_tail(3.2, 5, 16) == pytest.approx(stats.f.sf(3.2, 5, 16), rel=1e-10)
