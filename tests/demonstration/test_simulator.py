"""The simulator's points against its truth, worked another way than it makes them."""

import json
import math
from dataclasses import replace

import numpy as np
import pytest

from app.demonstration.simulator import (
    Pose,
    Rig,
    as_document,
    draw_setup,
    measured_without_noise,
    simulate,
    truth,
    turned,
    with_slip,
)
from app.schemas.survey import SurveyIn

BENT = Pose(
    head_twist_deg=0.8,
    head_offset_mm=3.0,
    head_reach_mm=688.0,
    head_height_mm=315.0,
    head_angle_deg=22.5,
)
EXACT = Rig(noise_mm=0.0, face_squareness_deg=0.0, scale_u_ppm=0.0, offset_u_mm=0.0)


def exact_points(pose: Pose, seed: int = 7) -> dict[str, np.ndarray]:
    found = simulate(pose, EXACT, np.random.default_rng(seed)).survey
    first = np.array([station != "return" for station in found.station])
    return {
        name: found.xyz[[f == name and keep for f, keep in zip(found.feature, first, strict=True)]]
        for name in ("pivot", "pivot_face", "head_face", "steer_target")
    }


def axis_of_turning(points: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Direction and a point of the axis about which two targets turn, from their circles."""
    upper, lower = points[0::2], points[1::2]
    centres = []
    normal = np.cross(upper[1] - upper[0], upper[2] - upper[1])
    normal /= np.linalg.norm(normal)
    for target in (upper, lower):
        chords = np.array([target[1] - target[0], target[2] - target[1], normal])
        middle = [
            chords[0] @ (target[1] + target[0]) / 2.0,
            chords[1] @ (target[2] + target[1]) / 2.0,
            normal @ target[0],
        ]
        centres.append(np.linalg.solve(chords, middle))
    direction = centres[0] - centres[1]
    return direction / np.linalg.norm(direction), centres[1]


def test_points_show_the_truth_of_the_pose() -> None:
    """Twist, offset, distance and width by vector algebra from noiseless points."""
    points, known = exact_points(BENT), truth(BENT)
    y = points["pivot"][0] - points["pivot"][1]
    y /= np.linalg.norm(y)
    s, on_axis = axis_of_turning(points["steer_target"])
    assert np.degrees(np.arcsin(-s @ y)) == pytest.approx(known["head_twist"], abs=1e-9)
    left, right = points["pivot_face"] @ y
    assert left - right - 2.0 * EXACT.probe_radius_mm == pytest.approx(known["pivot_width"])
    head = points["head_face"][0] + EXACT.probe_radius_mm * s
    head = on_axis + s * ((head - on_axis) @ s)
    middle = points["pivot"][0] + y * ((left + right) / 2.0 - points["pivot"][0] @ y)
    assert (head - middle) @ y == pytest.approx(known["head_offset"], abs=1e-9)
    flat = s - (s @ y) * y
    flat /= np.linalg.norm(flat)
    out = head - middle - ((head - middle) @ y) * y
    assert out @ flat == pytest.approx(known["face_position"], abs=1e-9)
    assert np.linalg.norm(out - (out @ flat) * flat) == pytest.approx(known["axis_distance"])


def test_truth_agrees_with_the_projections_written_out() -> None:
    """d = reach cos e + height sin e, h = height cos e - reach sin e."""
    e, known = math.radians(BENT.head_angle_deg), truth(BENT)
    reach, height = BENT.head_reach_mm, BENT.head_height_mm
    assert known["axis_distance"] == pytest.approx(reach * math.cos(e) + height * math.sin(e))
    assert known["face_position"] == pytest.approx(height * math.cos(e) - reach * math.sin(e))


def test_levelling_turns_the_pose_about_the_pivot_axis() -> None:
    by_height = truth(BENT, "by_height", 330.0)
    assert by_height["head_height"] == pytest.approx(330.0)
    by_angle = truth(BENT, "by_angle", 24.0)
    assert by_angle["head_angle"] == pytest.approx(24.0)
    for level in (by_height, by_angle):
        again = Pose(
            BENT.head_twist_deg,
            BENT.head_offset_mm,
            level["head_reach"],
            level["head_height"],
            level["head_angle"],
        )
        invariants = truth(BENT)
        assert truth(again) == pytest.approx(invariants)
    with pytest.raises(ValueError, match="by_eye"):
        truth(BENT, "by_eye")


def test_only_the_returns_move_when_the_chassis_slips() -> None:
    rng = np.random.default_rng(3)
    setup = draw_setup(BENT, EXACT, rng)
    moved = draw_setup(BENT, with_slip(EXACT, [1.0, 2.0, -2.0]), np.random.default_rng(3))
    before = measured_without_noise(BENT, EXACT, setup)
    after = measured_without_noise(BENT, EXACT, moved)
    survey = simulate(BENT, EXACT, rng).survey
    returned = np.array([station == "return" for station in survey.station])
    assert after[~returned] == pytest.approx(before[~returned], abs=1e-12)
    assert np.linalg.norm((after - before)[returned], axis=1) == pytest.approx(np.full(5, 3.0))


def test_an_early_slip_takes_the_head_along() -> None:
    rig = replace(with_slip(EXACT, [0.0, 3.0, 0.0]), slipped_before="steering")
    setup = draw_setup(BENT, rig, np.random.default_rng(3))
    still = measured_without_noise(BENT, EXACT, replace(setup, slip=np.zeros(3)))
    shifted = measured_without_noise(BENT, rig, setup) - still
    assert np.linalg.norm(shifted[4:], axis=1) == pytest.approx(np.full(16, 3.0))
    assert shifted[:4] == pytest.approx(np.zeros((4, 3)), abs=1e-12)


def test_noise_has_the_size_that_the_instrument_states() -> None:
    rng, rig = np.random.default_rng(11), Rig()
    setup = draw_setup(BENT, rig, rng)
    exact = measured_without_noise(BENT, rig, setup)
    errors = np.array([simulate(BENT, rig, rng, setup).survey.xyz - exact for _ in range(300)])
    assert np.std(errors) == pytest.approx(rig.noise_mm, rel=0.03)
    assert np.mean(errors) == pytest.approx(0.0, abs=4.0 * rig.noise_mm / math.sqrt(errors.size))


def test_the_same_seed_gives_the_same_survey() -> None:
    one, two = (simulate(BENT, Rig(), np.random.default_rng(5)).survey for _ in range(2))
    assert np.array_equal(one.xyz, two.xyz)
    assert one.up == two.up


def test_a_steering_turned_to_the_left_is_called_left() -> None:
    survey = simulate(Pose(), EXACT, np.random.default_rng(2)).survey
    turns = [
        turn for turn, label in zip(survey.turn, survey.label, strict=True) if label == "upper"
    ]
    assert turns == ["right", "right", None, "left", "left", "right"]


def test_rotation_matrix_turns_right_handed() -> None:
    quarter = turned([0.0, 0.0, math.pi / 2.0])
    assert quarter @ [1.0, 0.0, 0.0] == pytest.approx([0.0, 1.0, 0.0])
    assert np.array_equal(turned([0.0, 0.0, 0.0]), np.eye(3))


def test_document_is_a_survey_that_may_be_sent() -> None:
    made = simulate(BENT, Rig(bore_mm=(20.0, 150.0)), np.random.default_rng(1))
    document = as_document(made, phase="before", by="A. Tester", instrument={"name": "arm 2"})
    taken = SurveyIn.model_validate_json(json.dumps(document))
    assert taken.phase == "before"
    assert taken.instrument.name == "arm 2"
    assert taken.instrument.probe_radius_mm == 3.0
    assert len(taken.points) == len(made.survey.feature)
    assert taken.points[5].feature == made.survey.feature[5]
    assert taken.points[5].x == pytest.approx(made.survey.xyz[5, 0], abs=0.0006)
