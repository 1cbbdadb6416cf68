"""The limits that the engine's checks stand on."""

import pytest
from scipy import stats

from app.metrology.type_a import (
    chi_square_limit,
    chi_square_tail,
    f_limit,
    f_tail,
)


@pytest.mark.parametrize(("freedom", "limit"), [(2, 13.82), (5, 20.52), (8, 26.12), (16, 39.25)])
def test_chi_square_limits_at_one_in_a_thousand(freedom: int, limit: float) -> None:
    """Upper 0.1 % points, as any table of chi-square prints them (from memory)."""
    assert chi_square_limit(0.001, freedom) == pytest.approx(limit, abs=0.005)
    assert chi_square_tail(chi_square_limit(0.001, freedom), freedom) == pytest.approx(0.001)


def test_f_limits_agree_with_scipy_stats() -> None:
    assert f_limit(0.001, 5, 16) == pytest.approx(stats.f.isf(0.001, 5, 16), rel=1e-10)
    assert f_tail(3.2, 5, 16) == pytest.approx(stats.f.sf(3.2, 5, 16), rel=1e-10)
