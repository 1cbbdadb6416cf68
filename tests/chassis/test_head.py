"""A known pose is found again: closed forms, worked without the engine's own formulas."""

import math

import numpy as np
import pytest

from app.chassis.evaluate import evaluate
from app.chassis.result import Result
from tests.chassis.poses import Floats, Key, Pose, random_motion, survey

POSES = [
    Pose(),
    Pose(reach=655.0, height=300.0, angle=25.5, twist=0.8, offset=-3.0, width=180.0),
    Pose(reach=520.0, height=460.0, angle=21.0, twist=-1.4, offset=6.0, width=300.0),
    Pose(reach=700.0, height=200.0, angle=30.0, twist=3.0, offset=0.0, width=240.0),
]


def values(result: Result) -> dict[str, float]:
    return {item.key: item.value for item in result.characteristics}


@pytest.mark.parametrize("pose", POSES)
def test_a_known_pose_is_found_again_wherever_the_instrument_stands(pose: Pose) -> None:
    found = values(evaluate(survey(pose.points(), motion=random_motion(7)), pose.reference()))
    assert found["head_twist"] == pytest.approx(pose.twist, abs=1e-9)
    assert found["head_offset"] == pytest.approx(pose.offset, abs=1e-7)
    assert found["axis_distance"] == pytest.approx(pose.distance, abs=1e-7)
    assert found["face_position"] == pytest.approx(pose.position, abs=1e-7)
    assert found["head_reach"] == pytest.approx(pose.reach, abs=1e-7)
    assert found["head_height"] == pose.height
    assert found["head_angle"] == pytest.approx(pose.angle, abs=1e-9)
    assert found["pivot_width"] == pytest.approx(pose.width, abs=1e-9)


def test_twist_seen_square_to_the_head_is_smaller_than_in_the_plain_rear_view() -> None:
    """In the plain rear view it is atan(tan(twist) / cos(head_angle)), about a tenth more."""
    pose = Pose(twist=1.0)
    rear = math.degrees(math.atan2(-pose.up[1], pose.up[2]))
    plain = math.degrees(math.atan(math.tan(math.radians(1.0)) / math.cos(math.radians(24.0))))
    assert rear == pytest.approx(plain, abs=1e-12)
    found = values(evaluate(survey(pose.points()), pose.reference()))
    assert found["head_twist"] == pytest.approx(1.0, abs=1e-9)
    assert 1.05 < plain / found["head_twist"] < 1.15


def test_positive_twist_is_the_top_to_the_right() -> None:
    """The top of the axis leans to -Y, clockwise seen from behind."""
    pose = Pose(twist=0.5)
    assert pose.up[1] < 0.0
    (twist,) = (
        item
        for item in evaluate(survey(pose.points()), Pose().reference()).characteristics
        if item.key == "head_twist"
    )
    assert twist.value > 0.0
    assert twist.sense_code == "clockwise_from_behind"


def test_each_deviation_carries_the_sense_of_its_sign() -> None:
    reference = Pose().reference()
    more = Pose(twist=0.2, offset=1.0, angle=24.5, width=241.0, reach=645.0)
    less = Pose(twist=-0.2, offset=-1.0, angle=23.5, width=239.0, reach=635.0)
    senses: dict[str, list[tuple[float | None, str]]] = {}
    for pose in (more, less):
        for item in evaluate(survey(pose.points()), reference).characteristics:
            senses.setdefault(item.key, []).append((item.deviation, item.sense_code))
    for key, ((first, one), (second, other)) in senses.items():
        if key == "head_height":
            assert one == other == "head_height_none"
            continue
        assert first is not None
        assert second is not None
        assert first * second < 0.0, key
        assert one != other, key


def test_without_head_face_the_twist_stays_and_all_of_h_is_left_out() -> None:
    points = [point for point in Pose(twist=0.3).points() if point[0][0] != "head_face"]
    result = evaluate(survey(points), Pose().reference())
    found = values(result)
    assert set(found) == {"head_twist", "axis_distance", "pivot_width"}
    assert found["head_twist"] == pytest.approx(0.3, abs=1e-9)
    codes = [warning.code for warning in result.warnings]
    assert codes == ["levelling_missing", "head_face_missing"]
    assert set(result.finding.missing) == {"head_offset", "face_position", "head_angle"}


def test_without_faces_only_what_needs_the_middle_is_left_out() -> None:
    points = [point for point in Pose(twist=0.3).points() if point[0][0] != "pivot_face"]
    result = evaluate(survey(points), Pose().reference())
    assert set(values(result)) == {
        "head_twist",
        "axis_distance",
        "face_position",
        "head_reach",
        "head_height",
        "head_angle",
    }
    assert [warning.code for warning in result.warnings] == ["faces_missing"]
    assert dict(result.warnings[0].facts) == {"sides": "left, right"}


def test_only_the_datum_gives_only_its_width() -> None:
    result = evaluate(survey(Pose().points()[:4]), Pose().reference())
    assert list(values(result)) == ["pivot_width"]
    assert result.orientation == "not_checked"
    assert result.rig_check.scope == "none"
    assert result.finding.verdict == "undecided"


def test_labels_of_the_faces_give_left_when_the_pivot_has_none() -> None:
    pose = Pose(twist=0.7, offset=2.0)
    points = [
        ((feature, None if feature == "pivot" else label, station), place)
        for (feature, label, station), place in pose.points()
    ]
    found = values(evaluate(survey(points), pose.reference()))
    assert found["head_twist"] == pytest.approx(0.7, abs=1e-9)
    assert found["head_offset"] == pytest.approx(2.0, abs=1e-7)


def test_features_beyond_the_head_leave_the_head_as_it_is() -> None:
    extra: list[tuple[Key, Floats]] = [
        (("control", "bolt", None), np.array([400.0, 10.0, 90.0])),
        (("pair", "rail.left", None), np.array([-200.0, 90.0, 200.0])),
        (("pair", "rail.right", None), np.array([-200.0, -90.0, 200.0])),
        (("control", "lug", "return"), np.array([300.0, 10.0, 90.0])),
    ]
    alone = evaluate(survey(Pose().points()), Pose().reference())
    result = evaluate(survey(Pose().points() + extra), Pose().reference())
    (warning,) = result.warnings
    assert (warning.code, dict(warning.facts)) == ("return_without_first", {"label": "lug"})
    beyond = {item.key: item for item in result.characteristics}
    for item in alone.characteristics:
        assert beyond.pop(item.key).value == pytest.approx(item.value, abs=1e-12)
    assert set(beyond) == {"pair_offset.rail", "pair_roll.rail", "pair_skew.rail"}


def test_outline_shows_the_head_where_the_pose_has_it() -> None:
    pose = Pose(reach=650.0, twist=0.4, offset=2.0)
    result = evaluate(survey(pose.points(), motion=random_motion(3)), Pose().reference())
    measured = {element.name: element for element in result.outline.measured}
    assert result.outline.levelled
    assert measured["head"].points[0] == pytest.approx(tuple(pose.head), abs=1e-6)
    lower, upper = (np.array(point) for point in measured["steering_axis"].points)
    assert upper - lower == pytest.approx(180.0 * pose.up, abs=1e-6)
    assert measured["face_left"].points[0] == pytest.approx((0.0, 120.0, 0.0), abs=1e-7)
    assert measured["pivot_axis"].points[1] == pytest.approx((0.0, -120.0, 0.0), abs=1e-7)
    nominal = {element.name: element for element in result.outline.reference}
    assert nominal["head"].points[0] == pytest.approx((640.0, 0.0, 380.0), abs=1e-9)
    lower, upper = (np.array(point) for point in nominal["steering_axis"].points)
    assert upper - lower == pytest.approx(180.0 * Pose().up, abs=1e-9)
