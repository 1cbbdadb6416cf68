"""Left and right, up and down, and axes of the wrong hand: told, never corrected."""

from dataclasses import replace

import numpy as np
import pytest

from app.chassis.evaluate import evaluate
from app.chassis.survey import Reference, Survey
from app.errors import Refusal
from tests.chassis.poses import Floats, Key, Pose, random_motion, survey

POSE = Pose(twist=0.3, offset=1.0)
TURNS = {"s2": "left", "s3": "left", "s4": "right", "s5": "right"}


def refused(measured: Survey, reference: Reference | None = None) -> Refusal:
    with pytest.raises(Refusal) as caught:
        evaluate(measured, reference or POSE.reference())
    return caught.value


def swapped(features: set[str]) -> list[tuple[Key, Floats]]:
    other = {"left": "right", "right": "left"}
    return [
        ((f, other.get(str(label), label) if f in features else label, s), x)
        for (f, label, s), x in POSE.points()
    ]


def mirrored(measured: Survey) -> Survey:
    """The same set-up read in axes of the other hand."""
    return replace(
        measured,
        xyz=measured.xyz * [1.0, 1.0, -1.0],
        up=None if measured.up is None else (measured.up[0], measured.up[1], -measured.up[2]),
    )


def turned(measured: Survey) -> Survey:
    return replace(measured, turn=tuple(TURNS.get(station or "") for station in measured.station))


def test_a_sound_survey_is_checked() -> None:
    for seed in range(4):
        measured = turned(survey(POSE.points(), motion=random_motion(seed)))
        assert evaluate(measured, POSE.reference()).orientation == "checked"


def test_all_labels_exchanged() -> None:
    refusal = refused(survey(swapped({"pivot", "pivot_face"})))
    assert (refusal.code, refusal.feature) == ("left_right_or_mirrored", "up")
    agreement = refusal.facts["agreement"]
    assert isinstance(agreement, float)
    assert agreement < -0.3


def test_axes_of_the_wrong_hand() -> None:
    refusal = refused(mirrored(survey(POSE.points(), motion=random_motion(2))))
    assert (refusal.code, refusal.feature) == ("left_right_or_mirrored", "up")


def test_up_upside_down() -> None:
    refusal = refused(survey(POSE.points(), up=(0.0, 0.0, -1.0)))
    assert (refusal.code, refusal.feature) == ("left_right_or_mirrored", "up")


@pytest.mark.parametrize(
    "up",
    [(0.0, 1.0, 0.1), (0.9, 0.0, 0.5), (0.0, 0.0, 0.0), (1e-320, 0.0, 0.0), (0.0, 0.0, 9e-4)],
)
def test_up_that_says_nothing(up: tuple[float, float, float]) -> None:
    """D is up against square to pivot axis and head: here under 0.3 in size."""
    refusal = refused(survey(POSE.points(), up=up))
    assert refusal.code == "up_unusable"
    agreement = refusal.facts["agreement"]
    assert isinstance(agreement, float)
    assert abs(agreement) <= 0.3


def test_a_leaning_machine_is_no_reason_to_refuse() -> None:
    result = evaluate(survey(POSE.points(), up=(0.1, 0.25, 1.0)), POSE.reference())
    assert result.orientation == "checked"


@pytest.mark.parametrize("features", [{"pivot"}, {"pivot_face"}])
def test_one_pair_swapped_against_the_other(features: set[str]) -> None:
    refusal = refused(survey(swapped(features)))
    assert (refusal.code, refusal.feature) == ("pair_swapped", "pivot_face")
    assert refusal.facts["distance_mm"] == pytest.approx(240.0, abs=0.1)


def test_a_pair_of_a_later_kind_swapped() -> None:
    pair: list[tuple[Key, Floats]] = [
        (("pair", "rail.left", None), np.array([-200.0, -90.0, 200.0])),
        (("pair", "rail.right", None), np.array([-200.0, 90.0, 200.0])),
    ]
    refusal = refused(survey(POSE.points() + pair))
    assert (refusal.code, refusal.feature, refusal.facts["label"]) == (
        "pair_swapped",
        "pair",
        "rail",
    )


def test_the_turn_shows_mirrored_axes_where_the_labels_followed_them() -> None:
    """Who takes the positive y for left in axes of the wrong hand exchanges the labels as well:
    up then agrees, and only the steering turns the wrong way."""
    measured = turned(survey(swapped({"pivot", "pivot_face"})))
    refusal = refused(replace(measured, xyz=measured.xyz * [1.0, -1.0, 1.0]))
    assert (refusal.code, refusal.feature) == ("mirrored_axes", "steer_target")
    assert refusal.facts["left_deg"] == pytest.approx(-21.0, abs=1e-6)
    assert refusal.facts["right_deg"] == pytest.approx(21.0, abs=1e-6)


def test_the_turn_entered_for_the_wrong_side() -> None:
    measured = turned(survey(POSE.points()))
    other = {"left": "right", "right": "left"}
    wrong = replace(measured, turn=tuple(other.get(str(t)) for t in measured.turn))
    assert refused(wrong).code == "mirrored_axes"


def test_turn_on_one_side_only_tells_nothing() -> None:
    measured = turned(survey(POSE.points()))
    left = replace(measured, turn=tuple("left" if t == "left" else None for t in measured.turn))
    assert evaluate(left, POSE.reference()).orientation == "checked"


def test_without_up_a_head_face_off_the_foot_tells() -> None:
    """Nominal face_position 86.8 mm: with left and right exchanged it shows at -86.8 mm."""
    assert evaluate(survey(POSE.points(), up=None), POSE.reference()).orientation == "checked"
    refusal = refused(survey(swapped({"pivot", "pivot_face"}), up=None))
    assert (refusal.code, refusal.feature) == ("left_right_or_mirrored", "face_position")
    assert refusal.facts["met_mm"] == pytest.approx(-POSE.position, abs=1e-6)
    assert refusal.facts["nominal_mm"] == pytest.approx(POSE.position)


def test_without_up_the_nominal_may_come_from_reach_height_and_angle() -> None:
    reference = POSE.reference(face_position=None, axis_distance=None)
    assert evaluate(survey(POSE.points(), up=None), reference).orientation == "checked"


def test_without_up_and_without_a_nominal_nothing_is_checked() -> None:
    result = evaluate(survey(POSE.points(), up=None), Reference(materials={"frame": "steel"}))
    assert result.orientation == "not_checked"
    assert "orientation_not_checked" in [w.code for w in result.warnings]


def test_without_up_a_face_near_the_foot_cannot_tell() -> None:
    pose = Pose(reach=640.0, height=290.0, angle=24.0)
    assert abs(pose.position) < 10.0
    result = evaluate(survey(pose.points(), up=None), pose.reference())
    assert result.orientation == "not_checked"


@pytest.mark.parametrize("length", [2e-3, 1.0, 1e200])
def test_the_length_of_up_does_not_matter(length: float) -> None:
    measured = survey(POSE.points(), up=(0.0, 0.0, length))
    assert evaluate(measured, POSE.reference()).orientation == "checked"


@pytest.mark.parametrize("length", [0.0, 1e-200, 1e-7])
def test_an_up_without_length_is_refused(length: float) -> None:
    with pytest.raises(Refusal) as caught:
        evaluate(survey(POSE.points(), up=(0.0, 0.0, length)), POSE.reference())
    assert caught.value.code == "up_unusable"
