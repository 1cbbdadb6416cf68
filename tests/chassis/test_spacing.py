"""A stated distance between two targets against the distance that was measured."""

import numpy as np
import pytest

from app.chassis.evaluate import evaluate
from app.chassis.result import Result
from app.chassis.survey import Reference, Tolerance
from app.errors import Refusal
from tests.chassis.poses import Pose, survey

POSE = Pose()
TRUE = float(np.linalg.norm(POSE.target("upper", 0.0) - POSE.target("lower", 0.0)))


def solved(length: float, u: float = 0.05, *, other: str = "lower", noise: float = 0.1) -> Result:
    spacing = (("upper", other, length, u),)
    measured = survey(POSE.points(), noise=noise, seed=1, target_spacing=spacing)
    return evaluate(measured, POSE.reference())


@pytest.mark.parametrize("wrong", [-123.0, -18.0, -3.0, 0.6, 27.0])
def test_a_wrong_length_is_named_with_both_lengths(wrong: float) -> None:
    """Far off, it used to read as a steering that hardly turned."""
    with pytest.raises(Refusal) as caught:
        solved(TRUE + wrong)
    refusal = caught.value
    assert (refusal.code, refusal.feature) == ("spacing_disagrees", "steer_target")
    assert (refusal.facts["one"], refusal.facts["other"]) == ("upper", "lower")
    assert refusal.facts["length_mm"] == TRUE + wrong
    assert refusal.facts["met_mm"] == pytest.approx(TRUE, abs=0.3)
    assert refusal.facts["u_mm"] == pytest.approx(0.1 * np.sqrt(2 / 5), rel=0.5)


def test_a_small_difference_is_for_the_noise_check() -> None:
    assert solved(TRUE + 0.2).noise_check.degrees_of_freedom == 17


def test_points_that_scatter_more_than_claimed_are_no_wrong_length() -> None:
    """0.5 mm of noise claimed as 0.1: the scatter of the five distances speaks for itself."""
    only_the_width = Reference({"pivot_width": Tolerance(POSE.width, -2.0, 2.0)}, "by_height")
    for seed in range(20):
        spacing = (("upper", "lower", TRUE, 0.01),)
        measured = survey(POSE.points(), noise=0.5, seed=seed, target_spacing=spacing)
        assert evaluate(measured, only_the_width).noise_check.verdict == "noisier"


def test_a_spacing_of_a_target_that_was_not_measured_is_refused() -> None:
    with pytest.raises(Refusal) as caught:
        solved(TRUE, other="nowhere")
    assert caught.value.code == "unknown_target"
    assert caught.value.facts["target"] == "nowhere"
    assert caught.value.facts["known"] == ("lower", "upper")


def test_a_wrong_unit_goes_first() -> None:
    spacing = (("upper", "lower", TRUE, 0.05),)
    measured = survey(POSE.points(), target_spacing=spacing)
    measured.xyz[:] /= 1000.0
    with pytest.raises(Refusal) as caught:
        evaluate(measured, POSE.reference())
    assert caught.value.code == "metres"
