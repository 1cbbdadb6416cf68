"""Grubbs' test: how often it errs, and what it says of plain cases."""

import numpy as np
import pytest

from app.metrology.grubbs import critical_value, grubbs


def test_it_takes_a_sound_sample_for_one_with_an_outlier_as_often_as_it_says() -> None:
    """20,000 drawn samples; the share is known to a standard deviation of 0.0015."""
    drawn = np.random.default_rng(20261125).normal(size=(20_000, 8))
    deviations = drawn - drawn.mean(axis=1, keepdims=True)
    statistics = np.abs(deviations).max(axis=1) / drawn.std(axis=1, ddof=1)
    share = float((statistics > critical_value(8, 0.05)).mean())
    assert share == pytest.approx(0.05, abs=0.006)


def test_the_outlier_is_named_on_either_side() -> None:
    sound = [10.0, 10.1, 9.9, 10.05, 9.95, 10.02]
    assert grubbs([*sound, 12.0]).place == 6
    assert grubbs([8.0, *sound]).place == 0
    assert grubbs([*sound, 12.0]).outlier
    assert not grubbs(sound).outlier
    assert not grubbs([8.0, *sound], side="above").outlier


def test_shifting_and_scaling_changes_nothing() -> None:
    values = [1.0, 1.2, 0.9, 1.1, 3.0]
    one, other = grubbs(values), grubbs([-5.0 * value + 700.0 for value in values])
    assert (one.place, one.outlier) == (other.place, other.outlier)
    assert one.statistic == pytest.approx(other.statistic, rel=1e-10)


def test_without_scatter_there_is_no_outlier() -> None:
    found = grubbs([2.0, 2.0, 2.0, 2.0])
    assert (found.statistic, found.outlier) == (0.0, False)


def test_two_values_cannot_be_tested() -> None:
    with pytest.raises(ValueError, match="3 values"):
        grubbs([1.0, 2.0])
