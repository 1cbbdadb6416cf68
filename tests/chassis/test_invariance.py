"""What does not depend on the chassis must not show in the result."""

from dataclasses import replace

import numpy as np
import pytest

from app.chassis.evaluate import evaluate
from app.chassis.result import Result
from app.chassis.survey import Instrument, Survey
from tests.chassis.poses import Pose, random_motion, survey
from tests.chassis.seen_again import in_order

INSTRUMENT = Instrument(0.1, 0.02, 20.0, 3.0)
POSE = Pose(twist=0.4, offset=1.2, angle=24.4, returns={"return": 3.0, "return2": -20.0})
MORE = [
    (("head_face", None, None), POSE.on_face(22.0, 40.0)),
    (("head_face", None, None), POSE.on_face(22.0, -80.0)),
    (("head_bore", "low", None), POSE.on_bore(4.0)),
    (("pivot", "left", "return"), np.array([0.0, 131.0, 0.0])),
    (("pivot", "right", "return"), np.array([0.0, -129.0, 0.0])),
    (("pivot_face", "left", "return"), np.array([5.0, 120.0, 9.0])),
]


def measured(motion: tuple[np.ndarray, np.ndarray] | None = None) -> Survey:
    return survey(
        POSE.points() + MORE,
        noise=0.1,
        seed=11,
        motion=motion,
        instrument=INSTRUMENT,
        temperature=27.0,
    )


def assert_same(one: Result, other: Result, tolerance: float) -> None:
    assert [item.key for item in one.characteristics] == [
        item.key for item in other.characteristics
    ]
    for a, b in zip(one.characteristics, other.characteristics, strict=True):
        assert a.value == pytest.approx(b.value, rel=tolerance, abs=tolerance)
        assert a.standard_uncertainty == pytest.approx(b.standard_uncertainty, rel=1e-7)
        assert a.verdict == b.verdict
        shares = {share.source: share.share for share in a.budget}
        assert {share.source: share.share for share in b.budget} == pytest.approx(shares, abs=1e-7)
    assert one.covariance == pytest.approx(other.covariance, abs=1e-7)
    assert one.noise_check.statistic == pytest.approx(other.noise_check.statistic, abs=1e-6)
    assert one.rig_check.statistic == pytest.approx(other.rig_check.statistic, abs=1e-5)
    assert one.rig_check.detectable_slip_mm == pytest.approx(other.rig_check.detectable_slip_mm)


@pytest.mark.parametrize("seed", range(6))
def test_the_place_of_the_instrument_within_ten_metres_changes_nothing(seed: int) -> None:
    reference = POSE.reference()
    assert_same(
        evaluate(measured(), reference), evaluate(measured(random_motion(seed)), reference), 1e-9
    )


@pytest.mark.parametrize("seed", range(6))
def test_the_order_of_the_points_changes_nothing(seed: int) -> None:
    reference, ordered = POSE.reference(), measured()
    order = np.random.default_rng(seed).permutation(len(ordered.feature)).tolist()
    mixed = in_order(ordered, order)
    assert_same(evaluate(ordered, reference), evaluate(mixed, reference), 1e-9)


def test_the_names_of_stations_and_targets_change_nothing() -> None:
    reference, named = POSE.reference(), measured()
    stations = {"s1": "zebra", "s2": "a", "s3": "9", "s4": "m", "s5": "b", "return": "return7"}
    targets = {"upper": "x", "lower": "a"}
    renamed = replace(
        named,
        station=tuple(stations.get(str(s), s) for s in named.station),
        label=tuple(targets.get(x, x) if x else x for x in named.label),
    )
    assert_same(evaluate(named, reference), evaluate(renamed, reference), 1e-9)


def test_targets_may_be_seen_at_different_stations() -> None:
    """One target hidden at two stations, the other at one; together they still connect."""
    hidden = {("upper", "s2"), ("upper", "s4"), ("lower", "s5")}
    points = [p for p in POSE.points() if (p[0][1], p[0][2]) not in hidden]
    found = {
        item.key: item.value for item in evaluate(survey(points), POSE.reference()).characteristics
    }
    assert found["head_twist"] == pytest.approx(POSE.twist, abs=1e-9)
    assert found["axis_distance"] == pytest.approx(POSE.distance, abs=1e-7)


def test_two_groups_of_stations_that_share_no_target_both_tell_the_axis() -> None:
    """Two targets at three stations each, never together: 4 + 6 + 6 - 2 = 14 unknowns of 18."""
    pose = Pose(stations={f"s{k}": a for k, a in enumerate((-30, -10, 20, -25, 5, 30))})
    points = [
        p
        for p in pose.points()
        if p[0][0] != "steer_target" or (p[0][1] == "upper") == (str(p[0][2]) < "s3")
    ]
    points = [p for p in points if p[0][2] != "return"]
    result = evaluate(survey(points), pose.reference())
    found = {item.key: item.value for item in result.characteristics}
    assert found["axis_distance"] == pytest.approx(pose.distance, abs=1e-7)
    assert result.noise_check.degrees_of_freedom == 4
