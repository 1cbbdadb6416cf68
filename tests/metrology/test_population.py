"""Populations behind specimens: mean and its uncertainty, what is shared, coverage simulated."""

import math

import numpy as np
import pytest
from scipy.special import ndtr

from app.metrology.population import population

NOTHING = np.zeros((6, 0))
VALUES = np.array([10.0, 10.4, 9.7, 10.1, 9.9, 10.2])


def test_mean_and_scatter_are_the_plain_ones_and_the_interval_rests_on_them() -> None:
    found = population(VALUES, np.full(6, 0.01), NOTHING, 0.9, 0.95)
    assert found.mean == pytest.approx(VALUES.mean(), rel=1e-14)
    assert found.deviation == pytest.approx(np.std(VALUES, ddof=1), rel=1e-14)
    assert found.standard_uncertainty == pytest.approx(found.deviation / math.sqrt(6), rel=1e-14)
    assert found.degrees_of_freedom == pytest.approx(5.0, rel=1e-12)
    half = found.interval.factor * found.deviation
    assert found.interval.upper == pytest.approx(found.mean + half, rel=1e-14)
    assert not found.scatter_below_own


def test_what_is_shared_is_not_averaged_down_and_widens_no_limit() -> None:
    shared = np.full((6, 1), 0.3)
    alone = population(VALUES, np.full(6, 0.01), NOTHING, 0.9, 0.95)
    found = population(VALUES, np.full(6, 0.01), shared, 0.9, 0.95)
    assert found.shared_uncertainty == pytest.approx(0.3, rel=1e-14)
    expected = math.hypot(alone.standard_uncertainty, 0.3)
    assert found.standard_uncertainty == pytest.approx(expected, rel=1e-14)
    assert found.interval == alone.interval


def test_shared_causes_of_opposite_sign_cancel_in_the_mean() -> None:
    shared = np.array([[0.3], [-0.3], [0.3], [-0.3], [0.3], [-0.3]])
    assert population(VALUES, np.zeros(6), shared, 0.9, 0.95).shared_uncertainty == 0.0


def test_scatter_below_the_measurements_own_uncertainty_is_told_and_not_believed() -> None:
    found = population(VALUES, np.full(6, 1.0), NOTHING, 0.9, 0.95)
    assert found.scatter_below_own
    assert found.standard_uncertainty == pytest.approx(1.0 / math.sqrt(6), rel=1e-14)
    assert found.degrees_of_freedom is None
    assert found.expanded_uncertainty == pytest.approx(1.96 / math.sqrt(6), rel=1e-4)


def test_the_mean_is_covered_and_the_population_is_held_as_often_as_stated() -> None:
    """4,000 sets of 5 machines, each measured with an error of its own and one in common."""
    rng = np.random.default_rng(20261125)
    machines, own, common = 1.0, 0.4, 0.5
    covered = held = 0
    rounds = 4000
    for _ in range(rounds):
        values = rng.normal(0.0, machines, 5) + rng.normal(0.0, own, 5) + rng.normal(0.0, common)
        found = population(values, np.full(5, own), np.full((5, 1), common), 0.9, 0.95)
        covered += abs(found.mean) <= found.expanded_uncertainty
        # As measured: machines and their own errors; what is in common shifts the whole set.
        sigma = math.hypot(machines, own)
        shift = found.mean - float(np.mean(values))
        assert shift == 0.0
        centre = rng.normal(0.0, sigma, 5)
        half = found.interval.factor * float(np.std(centre, ddof=1))
        middle = float(np.mean(centre))
        held += float(ndtr((middle + half) / sigma) - ndtr((middle - half) / sigma)) >= 0.9
    assert 0.93 < covered / rounds < 0.97
    assert held / rounds == pytest.approx(0.95, abs=0.012)


def test_two_specimens_are_no_population() -> None:
    with pytest.raises(ValueError, match="2 values"):
        population(VALUES[:2], np.zeros(2), np.zeros((2, 0)), 0.9, 0.95)
