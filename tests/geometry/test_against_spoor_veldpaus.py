"""The axis of a rigid motion: finite helical axis, from the superposition of its markers.

Formulas (from memory, as in C. W. Spoor and F. E. Veldpaus, J. Biomech. 13 (1980) 391-393): cosine
of the turn (tr R - 1) / 2; axis n from R - R^T; slide n . t; nearest point of the axis to the
origin (t' + n x t' / tan(turn / 2)) / 2, t' the part of t square to n. Numbers in
tests/published/rigid.json, constructed and exact.
"""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from app.geometry.rigid import superpose
from tests.geometry.measured import Floats, random_motion

Published = Callable[[str, str], dict[str, Any]]


def helical(rotation: Floats, shift: Floats) -> tuple[float, Floats, Floats, float]:
    """Turn in rad, axis, point of the axis nearest to the origin, slide along it."""
    turn = float(np.arccos((np.trace(rotation) - 1.0) / 2.0))
    skew = (rotation - rotation.T) / (2.0 * np.sin(turn))
    axis = np.array([skew[2, 1], skew[0, 2], skew[1, 0]])
    slide = float(axis @ shift)
    across = shift - slide * axis
    point = (across + np.cross(axis, across) / np.tan(turn / 2.0)) / 2.0
    return turn, axis, point, slide


def test_the_constructed_motion_has_its_axis(published: Published) -> None:
    given = published("rigid", "constructed-rigid-motion-helical-axis")["inputs"]
    move = superpose(np.array(given["X"]), np.array(given["Y"]))
    turn, axis, point, slide = helical(move.rotation, move.translation)
    assert np.degrees(turn) == pytest.approx(given["angle_deg"], abs=1e-9)
    assert axis == pytest.approx(given["axis"], abs=1e-11)
    assert slide == pytest.approx(given["shift_along_axis"], abs=1e-9)
    true, on_axis = np.array(given["axis"]), np.array(given["axis_point"])
    assert point == pytest.approx(on_axis - (on_axis @ true) * true, abs=1e-8)


@pytest.mark.parametrize("seed", range(5))
def test_weighted_superpositions_agree_with_scipy(seed: int) -> None:
    """Rotation.align_vectors, which weighs as we do (W. Kabsch), about the weighted means."""
    rng = np.random.default_rng(seed)
    moving, weights = 200.0 * rng.normal(size=(6, 3)), rng.uniform(0.2, 3.0, 6)
    fixed = random_motion(rng)(moving) + 5.0 * rng.normal(size=(6, 3))
    ours = superpose(moving, fixed, weights)
    share = weights / weights.sum()
    arms = moving - share @ moving, fixed - share @ fixed
    theirs, _ = Rotation.align_vectors(arms[1], arms[0], weights=weights)
    assert ours.rotation == pytest.approx(theirs.as_matrix(), abs=1e-9)
    assert ours.translation == pytest.approx(
        share @ fixed - theirs.as_matrix() @ (share @ moving), abs=1e-8
    )
