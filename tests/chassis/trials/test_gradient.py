"""Sums over a grid of points against the force on every point, which serve any points."""

from dataclasses import replace

import numpy as np
import pytest

from app.chassis.survey import Survey
from app.chassis.trials.gradient import Workspace, gradient
from app.chassis.trials.solving import displace
from tests.chassis.poses import survey
from tests.chassis.trials.surveys import SOUND, small_turn, solved, sound

TRIALS = 7


def bore_alone() -> Survey:
    """Nothing turns: each point of the bore is a body seen once."""
    pose = replace(SOUND, targets={}, returns={})
    points = [*pose.points(), *((("head_bore", None, None), pose.on_bore(z)) for z in (4.0, 140.0))]
    return survey(points, noise=0.1, seed=3)


@pytest.mark.parametrize("taken", [sound(), small_turn(), bore_alone()], ids=["5", "4", "none"])
def test_sums_over_a_grid_make_the_gradient_that_forces_make(taken: Survey) -> None:
    _, trials = solved(taken)
    assert trials.steering is not None
    block = trials.steering.block
    assert block.grid
    assert block.alike
    generator = np.random.default_rng(4)
    observed = np.empty((3, len(block.turn), TRIALS))
    deviates = generator.standard_normal((block.rows, TRIALS))
    lengths = displace(block, deviates, np.zeros(TRIALS), observed)
    away = generator.standard_normal((len(block.start), TRIALS)) / block.scale
    sums, forces = (
        gradient(one, block.start + away, observed, lengths, Workspace.of(one, TRIALS))
        for one in (block, block._replace(alike=False, grid=False))
    )
    assert np.abs(forces).max() > 1.0
    np.testing.assert_allclose(sums, forces, rtol=1e-10, atol=1e-12 * np.abs(forces).max())
