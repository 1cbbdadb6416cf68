"""The rigid fit of dual points: against `geometry.rigid`, its slopes, and over many trials."""

import numpy as np
import pytest
from numpy.typing import NDArray

from app.geometry.dual import Vector
from app.geometry.dual_rigid import superposition
from app.geometry.rigid import superpose

Floats = NDArray[np.float64]
PLACES = np.array(
    [[410.0, 120.0, 95.0], [410.0, -120.0, 95.0], [-250.0, 30.0, 310.0], [150.0, -90.0, 330.0]]
)
WEIGHTS = np.array([1.0, 2.0, 0.5, 3.0])


def measured(seed: int, scatter: float = 2.0) -> Floats:
    """(4, 3): the places turned, shifted and scattered."""
    generator = np.random.default_rng(seed)
    turn = np.linalg.qr(generator.normal(size=(3, 3)))[0]
    turn[:, 0] *= np.linalg.det(turn)
    noise = generator.normal(scale=scatter, size=PLACES.shape)
    return np.asarray(PLACES @ turn.T + generator.uniform(-900.0, 900.0, size=3) + noise)


@pytest.mark.parametrize("seed", range(6))
def test_points_and_directions_stand_where_the_plain_fit_puts_them(seed: int) -> None:
    points = measured(seed)
    plain = superpose(points, PLACES, WEIGHTS)
    found = superposition([Vector(point) for point in points], PLACES, WEIGHTS)
    there = np.array([300.0, -40.0, 25.0])
    np.testing.assert_allclose(found.place(Vector(there)).value, plain(there), atol=1e-10)
    np.testing.assert_allclose(
        found.direction(Vector(there)).value, plain.rotation @ there, atol=1e-10
    )


@pytest.mark.parametrize("seed", range(3))
def test_slopes_are_those_of_central_differences(seed: int) -> None:
    """By every coordinate of the points, of a further place and of a direction."""
    numbers = np.concatenate((measured(seed).ravel(), [300.0, -40.0, 25.0], [0.1, 0.9, -0.3]))
    slopes = np.eye(18)
    points = [Vector(numbers[i : i + 3], slopes[i : i + 3]) for i in (0, 3, 6, 9)]
    fit = superposition(points, PLACES, WEIGHTS)
    found = [
        fit.place(Vector(numbers[12:15], slopes[12:15])).slopes,
        fit.direction(Vector(numbers[15:], slopes[15:])).slopes,
    ]

    def values(at: Floats) -> tuple[Floats, Floats]:
        plain = superpose(at[:12].reshape(4, 3), PLACES, WEIGHTS)
        return plain(at[12:15]), plain.rotation @ at[15:]

    step = 1e-3
    for i in range(18):
        for one, ahead, behind in zip(
            found,
            values(numbers + step * slopes[i]),
            values(numbers - step * slopes[i]),
            strict=True,
        ):
            assert one is not None
            np.testing.assert_allclose(one[:, i], (ahead - behind) / (2.0 * step), atol=1e-8)


def test_each_trial_is_fitted_by_itself() -> None:
    trials = [measured(seed, 5.0) for seed in range(30)]
    stacked = np.array(trials)
    fit = superposition([Vector(stacked[:, i].T.copy()) for i in range(4)], PLACES, WEIGHTS)
    there = np.array([300.0, -40.0, 25.0])
    placed, turned = fit.place(Vector(there)).value, fit.direction(Vector(there)).value
    for trial, points in enumerate(trials):
        plain = superpose(points, PLACES, WEIGHTS)
        np.testing.assert_allclose(placed[:, trial], plain(there), atol=1e-9)
        np.testing.assert_allclose(turned[:, trial], plain.rotation @ there, atol=1e-10)


def test_a_point_that_is_the_same_in_all_trials_meets_the_others() -> None:
    points = measured(1)
    many = [Vector(np.repeat(point[:, np.newaxis], 3, axis=1)) for point in points[:3]]
    fit = superposition([*many, Vector(points[3])], PLACES, WEIGHTS)
    there = Vector(np.array([1.0, 2.0, 3.0]))
    alone = superposition([Vector(point) for point in points], PLACES, WEIGHTS)
    wanted = np.repeat(alone.place(there).value[:, np.newaxis], 3, axis=1)
    np.testing.assert_allclose(fit.place(there).value, wanted, atol=1e-10)


def test_points_that_a_mirror_would_fit_better_are_turned_all_the_same() -> None:
    """Nearly flat places, and points that lie above where those lie below."""
    places = np.array([[0.0, 0.0, 1.0], [100.0, 0.0, -1.0], [0.0, 80.0, -1.0], [90.0, 70.0, 1.0]])
    points = places * (1.0, 1.0, -1.0)
    plain = superpose(points, places)
    alone = superposition([Vector(point) for point in points], places, np.ones(4))
    many = superposition(
        [Vector(np.repeat(point[:, np.newaxis], 2, axis=1)) for point in points], places, np.ones(4)
    )
    up = Vector(np.array([0.0, 0.0, 1.0]))
    for fit in (alone, many):
        rotation = fit.rotation.reshape(-1, 3, 3)[0]
        assert np.linalg.det(rotation) == pytest.approx(1.0)
        found = fit.direction(up).value.reshape(3, -1)[:, 0]
        np.testing.assert_allclose(found, plain.rotation @ up.value, atol=1e-12)
