"""Joint probability held against closed forms and integrals worked another way."""

import math
import time

import numpy as np
import pytest
from scipy import integrate, stats
from scipy.special import ndtr

from app.metrology.conformity import joint_probability, probabilities

NODES = np.linspace(-9.0, 9.0, 20001)
WEIGHTS = np.exp(-0.5 * NODES**2)


def one_common_cause(count: int, rho: float, lower: float, upper: float) -> float:
    """Equal correlations are one common cause: an integral over that single variable."""
    spread = math.sqrt(1.0 - rho)
    shift = math.sqrt(rho) * NODES
    inside = ndtr((upper - shift) / spread) - ndtr((lower - shift) / spread)
    return float(np.sum(WEIGHTS * inside**count) / np.sum(WEIGHTS))


@pytest.mark.parametrize("count", [2, 4, 10])
@pytest.mark.parametrize("rho", [0.1, 0.5, 0.8, 0.95])
def test_equal_correlations(count: int, rho: float) -> None:
    covariance = np.full((count, count), rho) + (1.0 - rho) * np.eye(count)
    for low, high in ((-2.0, 2.5), (-math.inf, 1.0)):
        found = joint_probability(
            np.zeros(count), covariance, np.full(count, low), np.full(count, high)
        )
        assert found == pytest.approx(one_common_cause(count, rho, low, high), abs=1.5e-5)


def test_one_in_n_plus_one_that_all_are_below_a_common_cause() -> None:
    """With correlation one half, all n are negative with probability 1/(n + 1) exactly."""
    covariance = 0.5 * (np.ones((4, 4)) + np.eye(4))
    found = joint_probability(np.zeros(4), covariance, np.full(4, -np.inf), np.zeros(4))
    assert found == pytest.approx(0.2, abs=5e-6)


def test_independent_quantities_multiply() -> None:
    u, dev = np.array([0.1, 0.2, 0.3]), np.array([0.05, -0.1, 0.2])
    low, high = np.array([-0.2, -0.5, -np.inf]), np.array([0.2, np.inf, 0.5])
    apart = math.prod(
        probabilities(d, s, None, a if np.isfinite(a) else None, b if np.isfinite(b) else None)[0]
        for d, s, a, b in zip(dev, u, low, high, strict=True)
    )
    assert joint_probability(dev, np.diag(u**2), low, high) == pytest.approx(apart, abs=1e-12)


def test_duplicates_count_once() -> None:
    one = joint_probability([0.1], [[0.04]], [-0.3], [0.4])
    same = np.array([1.0, -2.0, 0.5])
    found = joint_probability(
        0.1 * same,
        0.04 * np.outer(same, same),
        np.where(same > 0.0, -0.3, 0.4) * same,
        np.where(same > 0.0, 0.4, -0.3) * same,
    )
    assert found == pytest.approx(one, abs=1e-12)


def test_a_duplicate_with_tighter_limits_decides() -> None:
    both = joint_probability([0.0, 0.0], [[1.0, 1.0], [1.0, 1.0]], [-2.0, -1.0], [0.5, 3.0])
    assert both == pytest.approx(float(ndtr(0.5) - ndtr(-1.0)), abs=1e-12)


def test_limits_that_exclude_one_another_have_no_probability() -> None:
    assert joint_probability([0.0, 0.0], np.ones((2, 2)), [1.0, -9.0], [2.0, 0.9]) == 0.0


def test_a_sum_of_two_others_needs_no_full_rank() -> None:
    """x, y and x + y: a hexagon, integrated by quadrature."""
    basis = np.array([[1.0, 0.0], [0.0, 1.0], [1.0, 1.0]])
    limit = np.array([1.5, 1.2, 1.0])

    def slice_at(x: float) -> float:
        low, high = max(-limit[1], -limit[2] - x), min(limit[1], limit[2] - x)
        return float(stats.norm.pdf(x) * max(0.0, ndtr(high) - ndtr(low)))

    exact = integrate.quad(slice_at, -1.5, 1.5, points=[-0.2, 0.2], epsabs=1e-10)[0]
    found = joint_probability(np.zeros(3), basis @ basis.T, -limit, limit)
    assert found == pytest.approx(exact, abs=1e-5)


@pytest.mark.parametrize("count", [2, 5])
@pytest.mark.parametrize("nu", [3.0, 12.0])
def test_student_is_a_normal_with_a_common_unknown_scale(count: int, nu: float) -> None:
    covariance = np.full((count, count), 0.5) + 0.5 * np.eye(count)

    def at_scale(s: float) -> float:
        return one_common_cause(count, 0.5, -2.0 * s, 1.5 * s) * float(
            stats.chi.pdf(s * math.sqrt(nu), nu) * math.sqrt(nu)
        )

    exact = integrate.quad(at_scale, 0.0, 6.0, epsabs=1e-9)[0]
    found = joint_probability(
        np.zeros(count), covariance, np.full(count, -2.0), np.full(count, 1.5), nu
    )
    assert found == pytest.approx(exact, abs=1e-5)


def test_one_quantity_is_exact() -> None:
    for nu in (None, 5.0):
        found = joint_probability([0.2], [[0.09]], [-0.5], [0.6], nu)
        assert found == pytest.approx(probabilities(0.2, 0.3, nu, -0.5, 0.6).within, abs=1e-14)


def test_quantities_without_uncertainty_or_limits() -> None:
    covariance = np.diag([0.0, 1.0, 4.0])
    low, high = np.array([-1.0, -np.inf, -1.0]), np.array([1.0, np.inf, 1.0])
    found = joint_probability([0.5, 0.0, 0.0], covariance, low, high)
    assert found == pytest.approx(float(ndtr(0.5) - ndtr(-0.5)), abs=1e-14)
    assert joint_probability([1.5, 0.0, 0.0], covariance, low, high) == 0.0
    assert joint_probability([0.5], [[0.0]], [-1.0], [1.0]) == 1.0


def test_what_is_surely_within_changes_nothing() -> None:
    covariance = np.array([[1.0, 0.6, 0.2], [0.6, 1.0, 0.1], [0.2, 0.1, 1.0]])
    two = joint_probability([0.0, 0.0], covariance[:2, :2], [-1.0, -1.0], [1.0, 2.0])
    three = joint_probability(np.zeros(3), covariance, [-1.0, -1.0, -7.0], [1.0, 2.0, 8.0])
    assert three == two
    alone = joint_probability(np.zeros(3), covariance, [-9.0, -1.0, -7.0], [9.0, 2.0, 8.0])
    assert alone == pytest.approx(probabilities(0.0, 1.0, None, -1.0, 2.0).within, abs=1e-11)


def test_the_order_and_the_units_do_not_matter() -> None:
    rng = np.random.default_rng(20260302)
    root = rng.normal(size=(5, 6))
    covariance, limit = root @ root.T, rng.uniform(1.5, 5.0, 5)
    straight = joint_probability(np.zeros(5), covariance, -limit, 2.0 * limit)
    order, unit = rng.permutation(5), 10.0 ** rng.uniform(-4.0, 4.0, 5)
    turned = joint_probability(
        np.zeros(5),
        (covariance * np.outer(unit, unit))[np.ix_(order, order)],
        (-limit * unit)[order],
        (2.0 * limit * unit)[order],
    )
    assert turned == pytest.approx(straight, abs=1e-9)
    again = joint_probability(np.zeros(5), covariance, -limit, 2.0 * limit)
    assert again == straight


def test_ten_quantities_take_no_longer_than_a_person_waits() -> None:
    covariance = np.full((10, 10), 0.8) + 0.2 * np.eye(10)
    started = time.process_time()
    joint_probability(np.zeros(10), covariance, np.full(10, -2.0), np.full(10, 2.0), 8.0)
    assert time.process_time() - started < 3.0
