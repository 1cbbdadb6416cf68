"""Dual numbers: slopes against central differences, states that agree, trials that survive."""

import math
from collections.abc import Callable

import numpy as np
import pytest
from numpy.typing import NDArray

from app.geometry import dual, dual_sums
from app.geometry.dual import Scalar, Vector

Floats = NDArray[np.float64]
Result = Scalar | Vector
Formula = Callable[[Scalar, Scalar, Vector, Vector], Result]

FORMULAS: dict[str, Formula] = {
    "sum": lambda x, y, a, b: x + y,
    "sum with a number": lambda x, y, a, b: 2.0 + x + 1.0,
    "difference": lambda x, y, a, b: x - y,
    "difference from a number": lambda x, y, a, b: 2.0 - x,
    "product": lambda x, y, a, b: x * y,
    "product with a number": lambda x, y, a, b: 3.0 * (x * 0.5),
    "quotient": lambda x, y, a, b: x / y,
    "quotient of a number": lambda x, y, a, b: 2.0 / x,
    "quotient by a number": lambda x, y, a, b: x / 4.0,
    "negative": lambda x, y, a, b: -x,
    "sqrt": lambda x, y, a, b: dual.sqrt(y),
    "sin": lambda x, y, a, b: dual.sin(x),
    "cos": lambda x, y, a, b: dual.cos(x),
    "tan": lambda x, y, a, b: dual.tan(x),
    "asin": lambda x, y, a, b: dual.asin(x),
    "atan2": lambda x, y, a, b: dual.atan2(x, y),
    "atan2 behind": lambda x, y, a, b: dual.atan2(-x, -y),
    "hypot": lambda x, y, a, b: dual.hypot(x, y),
    "reciprocal": lambda x, y, a, b: dual.reciprocal(x),
    "component": lambda x, y, a, b: a[1],
    "vector of components": lambda x, y, a, b: dual.vector(x, 2.0, y),
    "sum of vectors": lambda x, y, a, b: a + b,
    "difference of vectors": lambda x, y, a, b: a - b,
    "negative vector": lambda x, y, a, b: -a,
    "vector times scalar": lambda x, y, a, b: a * x,
    "scalar times vector": lambda x, y, a, b: x * a,
    "vector times number": lambda x, y, a, b: 2.0 * a * 0.3,
    "vector by scalar": lambda x, y, a, b: a / x,
    "dot": lambda x, y, a, b: dual.dot(a, b),
    "cross": lambda x, y, a, b: dual.cross(a, b),
    "norm": lambda x, y, a, b: dual.norm(a),
    "unit": lambda x, y, a, b: dual.unit(a),
    "square_to": lambda x, y, a, b: dual.square_to(a, dual.unit(b)),
    "square_to a constant": lambda x, y, a, b: dual.square_to(a, dual.constant((0.0, 0.6, 0.8))),
    "square_to of a constant": lambda x, y, a, b: dual.square_to(
        dual.constant((-1.0, 2.0, 3.0)), dual.unit(a)
    ),
    "constant less scalar": lambda x, y, a, b: dual.scalar(2.0) - x,
    "constant by scalar": lambda x, y, a, b: dual.scalar(2.0) / x,
    "mean": lambda x, y, a, b: dual.mean([a, b, a]),
    "mean of scalars": lambda x, y, a, b: dual.mean([x, y]),
    "combined": lambda x, y, a, b: dual_sums.combined(np.array([0.3, -2.0]), [a, b]),
    "constant vector": lambda x, y, a, b: a + dual.constant((1.0, 2.0, 3.0)) * x,
    "dot with a constant": lambda x, y, a, b: dual.dot(dual.constant((1.0, 2.0, 3.0)), a),
    "cross with a constant": lambda x, y, a, b: dual.cross(dual.constant((1.0, 2.0, 3.0)), a),
    "constant times scalar": lambda x, y, a, b: dual.constant((1.0, 2.0, 3.0)) * x,
    "combined with a constant": lambda x, y, a, b: dual_sums.combined(
        np.array([0.3, -2.0]), [a, dual.constant((1.0, 2.0, 3.0))]
    ),
    "scalar constant": lambda x, y, a, b: dual.atan2(x, dual.scalar(2.0)),
}
INPUTS = np.array([0.6, 1.7, 1.2, -0.8, 2.1, 0.3, 1.9, -1.4])


def applied(formula: Formula, numbers: Floats, slopes: Floats | None = None) -> Result:
    """numbers: (8,) or (8, trials); slopes: (8, 8) for derivatives."""
    rows = None if slopes is None else slopes
    x, y = (
        Scalar(
            numbers[i] if numbers.ndim > 1 else float(numbers[i]), None if rows is None else rows[i]
        )
        for i in (0, 1)
    )
    a, b = (
        Vector(numbers[part], None if rows is None else rows[part])
        for part in (slice(2, 5), slice(5, 8))
    )
    return formula(x, y, a, b)


@pytest.mark.parametrize("name", sorted(FORMULAS))
def test_slopes_are_those_of_central_differences(name: str) -> None:
    formula = FORMULAS[name]
    found = applied(formula, INPUTS, np.eye(8))
    step = 1e-6
    ahead = applied(formula, INPUTS[:, np.newaxis] + step * np.eye(8)).value
    behind = applied(formula, INPUTS[:, np.newaxis] - step * np.eye(8)).value
    expected = (np.asarray(ahead) - np.asarray(behind)) / (2.0 * step)
    assert found.slopes is not None
    assert found.slopes.shape == expected.shape
    np.testing.assert_allclose(found.slopes, expected, atol=1e-8)


@pytest.mark.parametrize("name", sorted(FORMULAS))
def test_the_three_states_have_the_same_values(name: str) -> None:
    formula = FORMULAS[name]
    wanted = np.asarray(applied(formula, INPUTS, np.eye(8)).value)
    alone = applied(formula, INPUTS)
    assert alone.slopes is None
    np.testing.assert_allclose(alone.value, wanted, rtol=1e-15)
    trials = applied(formula, np.repeat(INPUTS[:, np.newaxis], 5, axis=1))
    assert trials.slopes is None
    value = np.asarray(trials.value)
    assert value.shape == (*wanted.shape, 5)
    np.testing.assert_allclose(value, np.repeat(wanted[..., np.newaxis], 5, axis=-1), rtol=1e-15)


def test_an_array_on_the_left_does_not_take_the_operation_over() -> None:
    number = np.float64(2.0)
    assert isinstance(number * Scalar(3.0), Scalar)
    assert isinstance(number * dual.constant((1.0, 2.0, 3.0)), Vector)


@pytest.mark.parametrize(
    "formula",
    [
        lambda x: dual.sqrt(x),
        lambda x: dual.asin(x - 2.0),
        lambda x: dual.norm(dual.unit(dual.vector(dual.sqrt(x), x, x))),
    ],
)
def test_a_trial_without_an_answer_is_not_a_number_and_nothing_is_raised(
    formula: Callable[[Scalar], Scalar],
) -> None:
    found = np.asarray(formula(Scalar(np.array([1.0, -1.0, 2.0]))).value)
    assert np.isnan(found).tolist() == [False, True, False]


def test_a_direction_of_no_length_is_not_a_number_over_trials_and_raises_with_derivatives() -> None:
    nothing = np.zeros((3, 2))
    nothing[:, 1] = (0.0, 0.0, 2.0)
    assert np.isnan(dual.unit(Vector(nothing)).value).any(axis=0).tolist() == [True, False]
    with pytest.raises(ZeroDivisionError):
        dual.unit(Vector(np.zeros(3), np.eye(3)))


def test_a_root_of_a_negative_number_raises_with_derivatives() -> None:
    with pytest.raises(ValueError, match="math domain"):
        dual.sqrt(Scalar(-1.0, np.ones(2)))


def test_covariance_of_a_length_and_an_angle_by_their_slopes() -> None:
    """A closed form: of a point known alike in all directions, length and angle are uncorrelated,
    u(angle) = u / length."""
    point = Vector(np.array([3.0, 4.0, 0.0]), 0.1 * np.eye(3))
    length, angle = dual.norm(point), dual.atan2(point[1], point[0])
    assert length.slopes is not None
    assert angle.slopes is not None
    assert length.slopes @ length.slopes == pytest.approx(0.01)
    assert math.sqrt(angle.slopes @ angle.slopes) == pytest.approx(0.1 / 5.0)
    assert length.slopes @ angle.slopes == pytest.approx(0.0, abs=1e-15)
