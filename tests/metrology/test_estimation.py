"""Weighted least squares: minimum, covariance, and the refusal to invent one."""

import numpy as np
import pytest
from numpy.typing import NDArray

from app.metrology.estimation import (
    NotConverged,
    RankDeficient,
    covariance_of,
    least_squares,
    minimise,
)

Floats = NDArray[np.float64]


def test_a_linear_problem_is_solved_by_the_normal_equations() -> None:
    rng = np.random.default_rng(1)
    design, seen = rng.normal(size=(12, 4)), rng.normal(size=12)
    found = least_squares(lambda p: design @ p - seen, lambda p: design, np.zeros(4))
    expected = np.linalg.lstsq(design, seen, rcond=None)[0]
    assert found.parameters == pytest.approx(expected, rel=1e-10)
    assert found.covariance == pytest.approx(np.linalg.inv(design.T @ design), rel=1e-10)
    assert found.chi_square == pytest.approx(float(np.sum((design @ expected - seen) ** 2)))


def test_units_do_not_decide_the_rank() -> None:
    """A parameter in kilometres beside one in nanometres."""
    scale = np.array([1e6, 1e-6, 1.0])
    design = np.random.default_rng(2).normal(size=(8, 3))
    plain, scaled = covariance_of(design), covariance_of(design * scale)
    assert scaled * np.outer(scale, scale) == pytest.approx(plain, rel=1e-9)


@pytest.mark.parametrize(
    "design",
    [
        np.array([[1.0, 2.0], [2.0, 4.0], [3.0, 6.0]]),
        np.array([[1.0, 0.0], [2.0, 0.0]]),
        np.array([[1.0, 2.0]]),
        np.array([[1.0, 1.0], [1.0, 1.0 + 1e-8], [1.0, 1.0 - 1e-8]]),
    ],
)
def test_less_than_full_rank_is_refused(design: Floats) -> None:
    with pytest.raises(RankDeficient) as caught:
        covariance_of(design)
    assert caught.value.reciprocal_condition < 1e-12


def test_a_step_that_does_not_descend_is_damped() -> None:
    """Powell's singular-looking start: full steps overshoot, the minimum is found all the same."""

    def residuals(p: Floats) -> Floats:
        return np.array([np.arctan(p[0]) * 10.0, 0.1 * (p[0] - 0.0)])

    def jacobian(p: Floats) -> Floats:
        return np.array([[10.0 / (1.0 + p[0] ** 2)], [0.1]])

    assert np.abs(residuals(np.array([5.0]) - 5.0 * 27.0)[0]) > np.abs(
        residuals(np.array([5.0]))[0]
    )
    found = least_squares(residuals, jacobian, np.array([5.0]))
    assert found.parameters == pytest.approx([0.0], abs=1e-9)


def test_no_minimum_is_said() -> None:
    """A residual that falls for ever."""
    with pytest.raises((NotConverged, RankDeficient)):
        least_squares(
            lambda p: np.array([1.0 + np.exp(-p[0])]),
            lambda p: np.array([[-np.exp(-p[0])]]),
            np.array([0.0]),
        )


def test_a_start_known_to_be_near_takes_its_first_step_on_trust() -> None:
    design, seen = np.array([[1.0, 0.0], [1.0, 1.0], [1.0, 2.0]]), np.array([0.1, 0.9, 2.2])
    calls: list[str] = []

    def jacobian(p: Floats) -> Floats:
        calls.append("jacobian")
        return design

    start = np.array([0.05, 1.0])
    found = minimise(
        lambda p: design @ p - seen,
        jacobian,
        start,
        settled=1e-2,
        near=(design @ start - seen, design),
    )
    assert calls == []
    expected = np.linalg.lstsq(design, seen, rcond=None)[0]
    assert found.parameters == pytest.approx(expected, rel=1e-10)
