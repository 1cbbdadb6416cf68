"""The faces: they place H and the middle, and never move an axis."""

import math

import numpy as np
import pytest

from app.chassis.evaluate import evaluate
from app.chassis.result import Result
from tests.chassis.poses import Floats, Key, Pose, survey

POSE = Pose()
Points = list[tuple[Key, Floats]]


def values(result: Result) -> dict[str, float]:
    return {item.key: item.value for item in result.characteristics}


def with_face(places: list[Floats]) -> Points:
    points = [p for p in POSE.points() if p[0][0] != "head_face"]
    return points + [(("head_face", None, None), place) for place in places]


def tilted(degrees: float, azimuth: float = 0.0, radius: float = 25.0, count: int = 4) -> Points:
    """A face through H, out of square: lowest at the azimuth."""
    places = []
    for k in range(count):
        at = 360.0 / count * k
        drop = radius * math.tan(math.radians(degrees)) * math.cos(math.radians(at - azimuth))
        places.append(POSE.on_face(radius, at) - POSE.up * drop)
    return with_face(places)


def test_a_damaged_face_moves_h_no_more_than_it_should_and_the_axis_not_at_all() -> None:
    """A face damaged by 1°, points all round: H stays; head_angle and twist do not move."""
    sound = values(evaluate(survey(tilted(0.0)), POSE.reference()))
    for azimuth in (0.0, 90.0, 200.0):
        result = evaluate(survey(tilted(1.0, azimuth)), POSE.reference())
        found = values(result)
        assert found["head_twist"] == pytest.approx(sound["head_twist"], abs=1e-9)
        assert found["axis_distance"] == pytest.approx(sound["axis_distance"], abs=1e-7)
        assert found["face_position"] == pytest.approx(sound["face_position"], abs=1e-7)
        assert found["head_angle"] == pytest.approx(24.0, abs=1e-7)


def test_the_weight_that_ranks_the_faces_below_the_axes_leaves_no_trace() -> None:
    """A face wrong by 50 mm: what moves the axis must be below rounding of any screen."""
    points = POSE.points()
    wrong = [(k, x + POSE.up * 50.0 if k[0] == "head_face" else x) for k, x in points]
    sound, moved = (values(evaluate(survey(p), POSE.reference())) for p in (points, wrong))
    assert moved["head_twist"] == pytest.approx(sound["head_twist"], abs=1e-10)
    assert moved["axis_distance"] == pytest.approx(sound["axis_distance"], abs=1e-8)
    assert moved["face_position"] - sound["face_position"] == pytest.approx(50.0, abs=1e-7)


def test_the_face_squareness_is_told_and_a_damaged_face_is_warned_of() -> None:
    result = evaluate(survey(tilted(1.0, 70.0, 60.0)), POSE.reference())
    (squareness,) = (c for c in result.characteristics if c.key == "face_squareness")
    assert squareness.value == pytest.approx(1.0, abs=1e-3)
    assert squareness.unit == "deg"
    assert squareness.sense_code == "face_out_of_square"
    assert 0.0 < squareness.standard_uncertainty < 0.2
    (warning,) = result.warnings
    assert warning.code == "face_damaged"
    assert dict(warning.facts)["tilt_deg"] == pytest.approx(squareness.value)


def test_the_uncertainty_of_the_face_squareness_by_hand() -> None:
    """Four points of 0.1 mm at 60 mm: tilt about one direction u = 0.1 / sqrt(4/2) / 60 rad, and
    the axis's own tilt in that direction beside it."""
    result = evaluate(survey(tilted(1.0, 0.0, 60.0)), POSE.reference())
    (squareness,) = (c for c in result.characteristics if c.key == "face_squareness")
    parts = {share.source: share.share for share in squareness.budget}
    face = squareness.standard_uncertainty * math.sqrt(parts["head_face"])
    expected = math.degrees(0.1 / math.sqrt(2.0) / 60.0) * math.cos(math.radians(1.0)) ** 2
    assert face == pytest.approx(expected, rel=1e-3)
    assert {source for source, share in parts.items() if share > 1e-6} == {
        "head_face",
        "steer_target",
    }


def test_a_face_that_says_less_than_is_assumed_is_left_out() -> None:
    """Points of 0.1 mm at 12 mm tell the tilt to 0.34°: more than 0.2°."""
    result = evaluate(survey(tilted(1.0, 0.0, 12.0)), POSE.reference())
    assert "face_squareness" not in values(result)
    assert result.warnings == ()
    line = with_face([POSE.on_face(30.0, 0.0), POSE.on_face(0.0, 0.0), POSE.on_face(30.0, 180.0)])
    assert "face_squareness" not in values(evaluate(survey(line), POSE.reference()))


def test_one_face_point_off_the_axis_carries_the_assumed_squareness() -> None:
    """At 25 mm from the axis: 25 mm times 0.2° beside the point's own 0.1 mm."""
    result = evaluate(survey(with_face([POSE.on_face(25.0, 10.0)])), POSE.reference())
    (position,) = (c for c in result.characteristics if c.key == "face_position")
    parts = {share.source: share.share for share in position.budget}
    variance = position.standard_uncertainty**2
    assert math.sqrt(variance * parts["head_face"]) == pytest.approx(0.1, rel=1e-6)
    squareness = math.sqrt(variance * parts["face_squareness"])
    assert squareness == pytest.approx(25.0 * math.radians(0.2), rel=1e-6)


def test_the_pivot_faces_carry_their_distance_from_the_axis() -> None:
    """rho tan(0.2°): the points stand 15.6 and 17 mm from the pivot axis."""
    result = evaluate(survey(POSE.points()), POSE.reference())
    (width,) = (c for c in result.characteristics if c.key == "pivot_width")
    parts = {share.source: share.share for share in width.budget}
    tangent = math.tan(math.radians(0.2))
    expected = tangent**2 * (10.0**2 + 12.0**2 + 8.0**2 + 15.0**2)
    assert width.standard_uncertainty**2 * parts["face_squareness"] == pytest.approx(expected)
    assert width.standard_uncertainty**2 * parts["pivot_face"] == pytest.approx(0.02, rel=1e-6)


def test_o_lies_midway_whatever_the_counts() -> None:
    """Five points on the left face, one on the right: the middle does not move."""
    more: Points = [
        (("pivot_face", "left", None), np.array([4.0 * k, 120.0, 6.0])) for k in range(4)
    ]
    result = evaluate(survey(POSE.points() + more), POSE.reference())
    assert values(result)["head_offset"] == pytest.approx(0.0, abs=1e-7)
    assert values(result)["pivot_width"] == pytest.approx(240.0, abs=1e-9)


def test_a_side_is_the_weighted_mean_of_its_points() -> None:
    points: Points = [
        *POSE.points(),
        (("pivot_face", "left", None), np.array([10.0, 121.0, 12.0])),
    ]
    u = np.full(len(points), np.nan)
    u[2], u[-1] = 0.1, 0.2
    result = evaluate(survey(points, u=u), POSE.reference())
    assert values(result)["pivot_width"] == pytest.approx(240.0 + 1.0 / 5.0, abs=1e-9)


def test_a_bent_pivot_axis_is_warned_of() -> None:
    middle: Points = [(("pivot", None, None), np.array([0.0, 0.0, 2.0]))]
    result = evaluate(survey(POSE.points() + middle), POSE.reference())
    warned = {w.code: dict(w.facts) for w in result.warnings}
    assert set(warned) == {"datum_bent", "noisier_than_claimed"}
    assert warned["datum_bent"]["distance_mm"] == pytest.approx(4.0 / 3.0, abs=0.01)
    assert warned["datum_bent"]["statistic"] == pytest.approx(4.0 / 1.5 / 0.01, rel=1e-3)
    assert warned["datum_bent"]["limit"] == pytest.approx(13.82, abs=0.01)
    straight: Points = [(("pivot", None, None), np.array([0.0, 20.0, 0.0]))]
    assert evaluate(survey(POSE.points() + straight), POSE.reference()).warnings == ()
