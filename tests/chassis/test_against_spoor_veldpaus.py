"""The steering axis against finite helical axes: each turn from one station to another has one.

C. W. Spoor and F. E. Veldpaus, J. Biomech. 13 (1980) 391-393 (formulas from memory); the turns by
SciPy's Rotation.align_vectors, so that nothing of the engine is in them. Where nothing but the
axis's own turn happened, all of them lie on one line: the engine's axis.
"""

from itertools import combinations

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from tests.chassis.poses import Floats, random_motion
from tests.chassis.turning import off, turned

BODY = np.array([[95.0, -40.0, 60.0], [-30.0, 88.0, -120.0], [60.0, 70.0, 10.0], [70.0, 0.0, 90.0]])
STATIONS_DEG = (0.0, 27.0, 13.0, -14.0, -29.0)


def helical(one: Floats, other: Floats) -> tuple[Floats, Floats, float]:
    """Axis, a point of it, and the turn in rad that brings markers (m, 3) to where they went."""
    means = one.mean(axis=0), other.mean(axis=0)
    rotation, _ = Rotation.align_vectors(other - means[1], one - means[0])
    vector = rotation.as_rotvec()
    turn = float(np.linalg.norm(vector))
    axis = vector / turn
    shift = means[1] - rotation.apply(means[0])
    across = shift - (shift @ axis) * axis
    return axis, (across + np.cross(axis, across) / np.tan(turn / 2.0)) / 2.0, turn


@pytest.mark.parametrize("seed", range(4))
def test_all_helical_axes_lie_on_the_axis_found(seed: int) -> None:
    rotation, shift = random_motion(seed, 3000.0)
    turns = [Rotation.from_rotvec([0.0, 0.0, d], degrees=True) for d in STATIONS_DEG]
    frames = np.array([turn.apply(BODY) @ rotation.T + shift for turn in turns])
    found = turned(frames, 0.1, rotation[:, 2])
    assert found.chi_square == pytest.approx(0.0, abs=1e-12)
    for i, j in combinations(range(len(frames)), 2):
        axis, point, turn = helical(frames[i], frames[j])
        sign = np.sign(axis @ found.direction)
        assert sign * axis == pytest.approx(found.direction, abs=1e-9)
        assert off(found.point, found.direction, point) == pytest.approx(0.0, abs=1e-6)
        assert found.angles[j] - found.angles[i] == pytest.approx(sign * turn, abs=1e-9)


def test_with_noise_it_is_nearer_to_the_axis_than_the_mean_helical_axis() -> None:
    """Seeded; the mean of the helical axes weighs each turn alike, however small."""
    rng = np.random.default_rng(7)
    turns = [Rotation.from_rotvec([0.0, 0.0, d], degrees=True) for d in STATIONS_DEG]
    exact = np.array([turn.apply(BODY) for turn in turns]) + np.array([500.0, 0.0, 300.0])
    up = np.array([0.0, 0.0, 1.0])
    ours, means, between = [], [], []
    for _ in range(100):
        frames = exact + 0.1 * rng.normal(size=exact.shape)
        found = turned(frames, 0.1, up)
        pairs = [helical(frames[i], frames[j])[0] for i, j in combinations(range(5), 2)]
        mean = np.mean([axis * np.sign(axis[2]) for axis in pairs], axis=0)
        mean /= np.linalg.norm(mean)
        ours.append(np.sum((found.direction - up) ** 2))
        means.append(np.sum((mean - up) ** 2))
        between.append(np.sum((mean - found.direction) ** 2))
    assert np.mean(ours) < np.mean(means)
    # They see the same markers: nearer to one another than both claims together.
    claimed = 2.0 * np.trace(found.covariance)
    assert np.mean(between) < claimed
