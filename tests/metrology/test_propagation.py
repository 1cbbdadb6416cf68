"""First-order propagation: an implicit function against its explicit solution."""

import numpy as np
import pytest

from app.metrology.propagation import correlations, implicit_derivative, propagate


def test_implicit_derivative_of_the_roots_of_a_quadratic() -> None:
    """Sum and product of two roots given: their derivatives are known in closed form."""
    low, high = 2.0, 5.0
    by_root = np.array([[1.0, 1.0], [high, low]])
    found = implicit_derivative(by_root, -np.eye(2))
    gap = low - high
    assert found == pytest.approx(np.array([[low, -1.0], [-high, 1.0]]) / gap)


def test_a_singular_problem_has_no_derivative() -> None:
    with pytest.raises(np.linalg.LinAlgError):
        implicit_derivative(np.ones((2, 2)), np.eye(2))


def test_correlated_inputs_can_cancel() -> None:
    full = np.array([[0.04, 0.04], [0.04, 0.04]])
    assert propagate(np.array([[1.0, -1.0]]), full)[0, 0] == 0.0


def test_correlations_beside_a_quantity_without_uncertainty_are_zero() -> None:
    found = correlations(np.array([[4.0, 1.0, 0.0], [1.0, 1.0, 0.0], [0.0, 0.0, 0.0]]))
    assert found == pytest.approx(np.array([[1.0, 0.5, 0.0], [0.5, 1.0, 0.0], [0.0, 0.0, 0.0]]))
