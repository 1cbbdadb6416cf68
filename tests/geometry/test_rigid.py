"""Rigid superposition: exact motions, weights, refusals."""

import numpy as np
import pytest

from app.geometry.rigid import superpose


def test_two_points_in_space_do_not_determine_the_turn() -> None:
    with pytest.raises(ValueError, match="turn"):
        superpose(np.array([[0.0, 0.0, 0.0], [1.0, 0.0, 0.0]]), np.eye(3)[:2])


def test_weights_decide_between_points_that_disagree() -> None:
    moving = np.array([[0.0, 0.0, 0.0], [400.0, 0.0, 0.0], [0.0, 300.0, 0.0], [0.0, 0.0, 200.0]])
    fixed = moving + np.array([5.0, 0.0, 0.0])
    fixed[3] += [0.0, 30.0, 0.0]
    move = superpose(moving, fixed, [1.0, 1.0, 1.0, 1e-9])
    assert move.translation == pytest.approx([5.0, 0.0, 0.0], abs=1e-5)
    assert move.rotation == pytest.approx(np.eye(3), abs=1e-7)
    assert np.linalg.norm(superpose(moving, fixed).rotation - np.eye(3)) > 0.01


def test_three_points_suffice_and_are_never_mirrored() -> None:
    moving = np.array([[0.0, 0.0, 0.0], [400.0, 0.0, 0.0], [0.0, 300.0, 0.0]])
    turned = moving @ np.diag([1.0, -1.0, -1.0]) + 7.0
    move = superpose(moving, turned)
    assert np.linalg.det(move.rotation) == pytest.approx(1.0, abs=1e-12)
    assert move(moving) == pytest.approx(turned, abs=1e-10)
