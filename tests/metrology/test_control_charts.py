"""Control charts: false alarms as often as the limits say, drifts seen, edges."""

import numpy as np
import pytest

from app.metrology.control_charts import cusum, ewma, individuals, range_freedom


def test_the_deviation_by_moving_ranges_is_unbiased() -> None:
    values = np.random.default_rng(4).normal(5.0, 2.0, 100_000)
    chart = individuals(values.tolist())
    assert chart.deviation == pytest.approx(2.0, rel=0.01)
    beyond = np.mean((values > chart.upper) | (values < chart.lower))
    assert beyond == pytest.approx(0.0027, abs=0.0006)
    ranges = np.abs(np.diff(values))
    assert np.mean(ranges > chart.upper_range) == pytest.approx(0.0091, abs=0.001)


def test_the_mean_moving_range_is_worth_fewer_degrees_of_freedom_than_the_deviation() -> None:
    """Two values: one range of |N(0, 2)|; many: by the variance of 20,000 drawn means."""
    assert range_freedom(2) == pytest.approx(0.5 / (np.pi / 2.0 - 1.0), rel=1e-12)
    drawn = np.random.default_rng(8).normal(size=(20_000, 12))
    means = np.abs(np.diff(drawn, axis=1)).mean(axis=1)
    relative = means.var() / means.mean() ** 2
    assert range_freedom(12) == pytest.approx(0.5 / relative, rel=0.03)
    assert range_freedom(12) < 11
    with pytest.raises(ValueError, match="two values"):
        range_freedom(1)


def test_a_drift_is_seen_by_the_moving_average_before_a_value_leaves_the_limits() -> None:
    sound = np.random.default_rng(9).normal(0.0, 1.0, 30)
    drifting = np.concatenate([sound, np.full(20, 1.5)])
    found = ewma(drifting.tolist(), 0.3, 0.0, 1.0)
    beyond = np.flatnonzero((found.averages > found.upper) | (found.averages < found.lower))
    assert beyond.size
    assert beyond[0] >= 30
    assert np.all(np.abs(drifting) < 3.0)


def test_limits_of_the_first_averages_are_narrower() -> None:
    found = ewma([0.0] * 40, 0.3, 0.0, 1.0)
    assert found.upper[0] == pytest.approx(0.9, rel=1e-12)
    assert np.all(np.diff(found.upper) > -1e-15)
    assert found.upper[-1] == pytest.approx(found.upper_limit, rel=1e-6)
    assert found.lower == pytest.approx(-found.upper, rel=1e-12)


def test_sums_see_a_shift_to_either_side_and_none_where_there_is_none() -> None:
    assert cusum([0.2, -0.2] * 10, 0.0, 0.5, 5.0).first_signal is None
    assert cusum([0.0] * 3 + [-1.5] * 10, 0.0, 0.5, 4.0).first_signal == 7
    assert cusum([0.0] * 3 + [1.5] * 10, 0.0, 0.5, 4.0).first_signal == 7


def test_what_makes_no_chart_is_refused() -> None:
    with pytest.raises(ValueError, match="two values"):
        individuals([1.0])
    for weight in (0.0, 1.5):
        with pytest.raises(ValueError, match="weight"):
            ewma([1.0], weight, 0.0, 1.0)
