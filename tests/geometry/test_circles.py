"""Circles in space: invariance, weights, refusals."""

import numpy as np
import pytest

from app.geometry.circles import fit_circle
from app.geometry.rigid import Rigid


def rim(rng: np.random.Generator, count: int = 8, noise: float = 0.1) -> np.ndarray:
    angle = np.linspace(0.0, 2.0, count)
    flat = np.column_stack([215.0 * np.cos(angle), 215.0 * np.sin(angle), np.zeros(count)])
    return flat + noise * rng.normal(size=(count, 3))


def test_a_turned_and_shifted_set_has_the_turned_and_shifted_circle() -> None:
    rng = np.random.default_rng(4)
    points = rim(rng)
    rotation = np.linalg.qr(rng.normal(size=(3, 3)))[0]
    move = Rigid(rotation * np.sign(np.linalg.det(rotation)), np.array([900.0, -40.0, 300.0]))
    before, after = fit_circle(points), fit_circle(move(points))
    assert after.centre == pytest.approx(move(before.centre), abs=1e-8)
    assert after.radius == pytest.approx(before.radius, abs=1e-8)
    assert abs(after.normal @ move.rotation @ before.normal) == pytest.approx(1.0, abs=1e-14)


def test_a_replicate_and_a_double_weight_are_the_same() -> None:
    points = rim(np.random.default_rng(5))
    twice = fit_circle(np.vstack([points, points[2:3]]))
    weighted = fit_circle(points, [1.0, 1.0, 2.0, 1.0, 1.0, 1.0, 1.0, 1.0])
    assert weighted.centre == pytest.approx(twice.centre, abs=1e-8)
    assert weighted.radius == pytest.approx(twice.radius, abs=1e-8)


def test_no_small_change_makes_the_sum_of_squares_smaller() -> None:
    points = rim(np.random.default_rng(6), noise=2.0)
    best = fit_circle(points)

    def squares(centre: np.ndarray, normal: np.ndarray, radius: float) -> float:
        arm = points - centre
        axial = arm @ (normal / np.linalg.norm(normal))
        radial = np.sqrt(np.sum(arm**2, axis=1) - axial**2) - radius
        return float(np.sum(axial**2 + radial**2))

    least = squares(best.centre, best.normal, best.radius)
    for step in (-1e-3, 1e-3):
        for axis in np.eye(3):
            assert squares(best.centre + step * axis, best.normal, best.radius) > least
            tilted = best.normal + step * np.cross(best.normal, axis)
            assert squares(best.centre, tilted, best.radius) >= least
        assert squares(best.centre, best.normal, best.radius + step) > least


def test_points_on_one_line_have_no_circle() -> None:
    with pytest.raises(ValueError, match="one line"):
        fit_circle(np.outer(np.arange(5.0), [1.0, 2.0, 3.0]))


def test_two_points_have_no_circle() -> None:
    with pytest.raises(ValueError, match="three points"):
        fit_circle(np.eye(3)[:2])
