"""Whether control points fix a frame: against the singular values of their nominals."""

import numpy as np
import pytest

from app.chassis.formulas.control_points import SPREAD_NEEDED_MM, ControlPoints, spread


def nominals(seed: int) -> np.ndarray:
    """(m, 3), mm: three to seven points, long, flat or round, turned anyhow."""
    generator = np.random.default_rng(seed)
    sizes = np.exp(generator.uniform(-1.0, 6.0, size=3))
    turn = np.linalg.qr(generator.normal(size=(3, 3)))[0]
    count = int(generator.integers(3, 8))
    return np.asarray(generator.normal(size=(count, 3)) * sizes @ turn + 500.0)


def second(points: np.ndarray) -> float:
    return float(np.linalg.svd(points - points.mean(axis=0), compute_uv=False)[1])


def spread_out(points: np.ndarray) -> bool:
    names = [f"p{i}" for i in range(len(points))]
    return spread(ControlPoints(names, [], points, np.ones(len(points))))


def test_points_fix_a_frame_where_the_second_singular_value_is_large_enough() -> None:
    every = [nominals(seed) for seed in range(400)]
    found = [spread_out(points) for points in every]
    assert found == [second(points) > SPREAD_NEEDED_MM for points in every]
    assert 100 < sum(found) < 300


@pytest.mark.parametrize("seed", range(20))
def test_the_limit_is_met_from_either_side(seed: int) -> None:
    """The moments are squares: of points along a line half of the digits are left."""
    points = nominals(seed)
    points *= SPREAD_NEEDED_MM / second(points)
    assert spread_out(points * (1.0 + 1e-7))
    assert not spread_out(points * (1.0 - 1e-7))


def test_points_in_a_line_or_in_one_place_fix_none() -> None:
    along = np.arange(5.0)[:, np.newaxis] * (300.0, 0.0, 0.0)
    assert not spread_out(along)
    assert not spread_out(along * 0.0)
    assert not spread_out(nominals(0)[:2])
