"""Bores with few stations or close together: what can be tested is, what cannot be is said."""

import numpy as np
import pytest

from app.chassis.evaluate import evaluate
from app.chassis.result import Result
from app.chassis.survey import Options
from tests.chassis.poses import Floats, Key, Pose, survey

POSE = Pose(stations={"s1": 0.0})
Points = list[tuple[Key, Floats]]


def bore(*heights: float) -> Points:
    return [(("head_bore", None, None), POSE.on_bore(height)) for height in heights]


def solved(points: Points, noise: float = 0.0, seed: int = 0) -> Result:
    return evaluate(survey(points, noise=noise, seed=seed), POSE.reference())


def shifted(points: Points, shift: Floats) -> Points:
    return [(key, x + shift if key[2] == "return" else x) for key, x in points]


def test_the_return_of_one_station_beside_two_bores_is_tested() -> None:
    """Two targets: 3 T - 1 = 5 degrees of freedom."""
    result = solved(POSE.points() + bore(4.0, 140.0))
    check = result.rig_check
    assert (check.verdict, check.scope) == ("steady", "steering_only")
    assert check.degrees_of_freedom == 5
    assert check.statistic == pytest.approx(0.0, abs=1e-9)
    assert check.detectable_slip_mm is not None
    assert result.warnings == ()
    moved = solved(shifted(POSE.points(), np.array([0.0, 0.0, 3.0])) + bore(4.0, 140.0))
    assert moved.rig_check.verdict == "moved"


def test_that_test_has_its_distribution() -> None:
    statistics = [
        solved(POSE.points() + bore(4.0, 140.0), 0.1, seed).rig_check.statistic or 0.0
        for seed in range(150)
    ]
    assert np.mean(statistics) == pytest.approx(5.0, abs=4.0 * np.sqrt(10.0 / 150.0))


def test_one_station_changes_nothing_of_what_the_bores_tell() -> None:
    with_targets = solved([p for p in POSE.points() if p[0][2] != "return"] + bore(4.0, 140.0))
    assert [w.code for w in with_targets.warnings] == ["target_seen_once"] * 2
    alone = [p for p in POSE.points() if p[0][0] != "steer_target"] + bore(4.0, 140.0)
    for one, other in zip(with_targets.characteristics, solved(alone).characteristics, strict=True):
        assert one.value == pytest.approx(other.value, abs=1e-9)
        assert one.standard_uncertainty == pytest.approx(other.standard_uncertainty, rel=1e-9)


def test_bores_close_together_decide_nothing_of_the_head_by_first_order() -> None:
    """0.1 mm at 8 mm: 1.0° (0.1 sqrt(2) / 8 rad); at 40 mm 0.2°."""
    points = [p for p in POSE.points() if p[0][0] != "steer_target"]
    known = survey(points + bore(4.0, 12.0))
    result = evaluate(known, POSE.reference(), Options(monte_carlo=0))
    (warning,) = result.warnings
    assert warning.code == "first_order_only"
    expected = np.degrees(0.1 * np.sqrt(2.0) / 8.0)
    assert dict(warning.facts)["tilt_deg"] == pytest.approx(expected, rel=0.01)
    for item in result.characteristics:
        if item.lower is not None:
            wanted = "within" if item.key == "pivot_width" else "undecided"
            assert item.verdict == wanted, item.key
    assert [w.code for w in evaluate(known, POSE.reference()).warnings] == ["by_trials"]
    assert solved(points + bore(4.0, 44.0)).warnings == ()


def test_the_slip_is_told_whatever_the_scatter_rests_on() -> None:
    """One degree of freedom of scatter (one spot of the head's face touched twice, 0.5 mm apart):
    the F ratio's limit is huge, and so is the slip, but it is known."""
    pose = Pose(targets={"upper": (90.0, -40.0, 60.0)}, stations={"s1": -25.0, "s2": 0, "s3": 25.0})
    twice: Points = [(("head_face", None, None), pose.on_face(25.0, 160.0) + 0.4 * pose.up)]
    check = evaluate(survey(pose.points() + twice), pose.reference())
    assert check.noise_check.degrees_of_freedom == 1
    assert check.noise_check.statistic == pytest.approx(8.0, rel=0.01)
    assert (check.rig_check.verdict, check.rig_check.compared_with_scatter) == ("steady", True)
    limit = check.rig_check.limit
    assert limit is not None
    assert limit > 1e5
    slip = check.rig_check.detectable_slip_mm
    assert slip is not None
    assert slip > 10.0
