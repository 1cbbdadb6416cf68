"""Sets that can hardly decide say so honestly, in their uncertainties and in a warning."""

import numpy as np
import pytest

from app.chassis.evaluate import evaluate
from app.chassis.result import Result
from app.errors import Refusal
from tests.chassis.poses import Pose, survey

WELL = {"upper": (90.0, -40.0, 60.0), "lower": (90.0, 50.0, -140.0)}
STACKED = {"upper": (90.0, 10.0, 60.0), "lower": (90.0, 10.0, -140.0)}
OPPOSITE = {"upper": (90.0, -90.0, 60.0), "lower": (90.0, 90.0, 60.0)}


def u_of(result: Result) -> dict[str, float]:
    return {item.key: item.standard_uncertainty for item in result.characteristics}


def solved(targets: dict[str, tuple[float, float, float]]) -> Result:
    pose = Pose(targets=targets)
    return evaluate(survey(pose.points()), pose.reference())


def test_stacked_targets_are_weak_in_reach() -> None:
    """The chords of both lie the same way: the axis is hardly held fore and aft."""
    well, stacked = solved(WELL), solved(STACKED)
    assert well.warnings == ()
    (warning,) = stacked.warnings
    assert warning.code == "targets_stacked"
    assert dict(warning.facts)["apart_deg"] == pytest.approx(0.0, abs=1e-6)
    assert u_of(stacked)["head_reach"] > 2.0 * u_of(well)["head_reach"]
    assert u_of(stacked)["head_twist"] < 1.5 * u_of(well)["head_twist"]


def test_opposite_targets_are_weak_in_twist() -> None:
    well, opposite = solved(WELL), solved(OPPOSITE)
    (warning,) = opposite.warnings
    assert warning.code == "targets_opposite"
    assert dict(warning.facts)["apart_deg"] == pytest.approx(180.0, abs=1e-6)
    assert u_of(opposite)["head_twist"] > 1.5 * u_of(well)["head_twist"]


def turned(half: float) -> Result:
    pose = Pose(targets=STACKED, stations={"s1": -half, "s2": 0.0, "s3": half, "s4": half / 2})
    return evaluate(survey(pose.points()), pose.reference())


def test_the_less_the_steering_turns_the_more_uncertain() -> None:
    """Known fore and aft by the arc's depth, which falls with the square of the turn."""
    strong, weak, weaker = (u_of(turned(half))["head_reach"] for half in (32.0, 16.0, 8.0))
    assert 2.0 < weak / strong < 5.0
    assert 3.5 < weaker / weak < 4.5


@pytest.mark.parametrize("half", [4.0, 2.0, 0.5])
def test_until_it_is_refused(half: float) -> None:
    with pytest.raises(Refusal) as caught:
        turned(half)
    assert caught.value.code == "steering_hardly_turned"


def test_the_claimed_uncertainty_is_what_scatters_in_a_weak_set() -> None:
    """Sixty surveys with stacked targets: values scatter as much as they say."""
    pose = Pose(targets=STACKED)
    found, claimed = [], 0.0
    for seed in range(60):
        result = evaluate(survey(pose.points(), noise=0.1, seed=seed), pose.reference())
        found.append([item.value for item in result.characteristics if item.key == "head_reach"])
        claimed = u_of(result)["head_reach"]
    assert np.std(found) == pytest.approx(claimed, rel=0.3)
    assert abs(np.mean(found) - pose.reach) < 4.0 * claimed / np.sqrt(60)
