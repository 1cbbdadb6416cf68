"""The points of a whole machine, as they come out of the simulator."""

import math
from dataclasses import replace

import numpy as np
import pytest

from app.chassis.survey import Survey
from app.demonstration.extent import ALUMINIUM, STEEL, Extent, Warmth
from app.demonstration.machine_survey import measure, without_noise
from app.demonstration.rigs import Rig, with_slip
from app.demonstration.session import draw_session
from app.demonstration.vectors import Floats
from tests.demonstration.machines import BENT, EXACT, QUIET, rng


def of(
    survey: Survey, feature: str, label: str | None = None, station: str | None = None
) -> Floats:
    rows = zip(survey.feature, survey.label, survey.station, strict=True)
    wanted = [(feature, label or found, station) == (f, found, s) for f, found, s in rows]
    places: Floats = survey.xyz[wanted]
    return places


def exact(extent: Extent = EXACT) -> Survey:
    return measure(BENT, extent, rng()).survey


def left_of(survey: Survey) -> Floats:
    left, right = of(survey, "pivot")
    along: Floats = (left - right) / np.linalg.norm(left - right)
    return along


def test_every_feature_is_there() -> None:
    survey = exact(replace(EXACT, returned=("control", "rear_axle")))
    assert len(survey.feature) == 62
    assert len(set(survey.feature)) == 13
    assert of(survey, "control", station="return") == pytest.approx(of(survey, "control"))


def test_distances_between_points_are_those_of_the_machine() -> None:
    survey = exact()
    for name, place in BENT.controls.items():
        for other, there in BENT.controls.items():
            apart = math.dist(of(survey, "control", name)[0], of(survey, "control", other)[0])
            assert apart == pytest.approx(math.dist(place, there), abs=1e-9)


def test_faces_of_the_arm_stand_apart_by_its_width_and_both_balls() -> None:
    survey, left = exact(), left_of(exact())
    apart = of(survey, "axle_face", "left")[0] - of(survey, "axle_face", "right")[0]
    assert apart @ left == pytest.approx(228.0 + 2.0 * QUIET.probe_radius_mm)


def test_an_edge_of_a_rim_is_a_circle_beside_the_wheels_middle() -> None:
    survey = exact(replace(EXACT, rim_points=5))
    planes = {}
    for side in ("left", "right"):
        points = of(survey, "rear_rim", side)
        normal = np.linalg.svd(points - points.mean(0))[2][2]
        # Evenly spread round the circle, the mean of the points is its middle.
        assert np.linalg.norm(points - points.mean(0), axis=1) == pytest.approx(np.full(5, 215.0))
        planes[side] = (points.mean(0), normal)
    apart = planes["left"][0] - planes["right"][0]
    assert np.linalg.norm(apart) == pytest.approx(150.0 + 2.0 * QUIET.probe_radius_mm)
    assert abs(apart @ planes["left"][1]) == pytest.approx(np.linalg.norm(apart))


def test_half_a_turn_on_a_wheel_is_out_the_other_way() -> None:
    once = exact()
    twice = exact(replace(EXACT, half_turn=True, runout_mm=0.5))
    for side in ("left", "right"):
        first, second = (of(twice, "front_rim", side, s) for s in (None, "half_turn"))
        assert np.linalg.norm(first - second, axis=1).min() > 0.05
        middle = 0.5 * (first + second)
        radius = np.linalg.norm(middle - middle.mean(0), axis=1)
        assert radius == pytest.approx(np.full(3, 215.0), abs=1e-6)
    assert of(once, "front_rim", station="half_turn").shape == (0, 3)


def test_each_part_grows_by_its_own_material() -> None:
    warmth = Warmth(50.0, 0.0, per_k={"frame": (STEEL[0], 0.0), "arm": (ALUMINIUM[0], 0.0)})
    cold = without_noise(BENT, EXACT, draw_session(BENT, EXACT, rng()))
    warm = replace(EXACT, warmth=warmth)
    hot = without_noise(BENT, warm, draw_session(BENT, warm, rng()))

    def apart(one: int, other: int) -> float:
        before = math.dist(cold.places[one], cold.places[other])
        return math.dist(hot.places[one], hot.places[other]) / before - 1.0

    features = [name[0] for name in cold.names]
    control, axle = features.index("control"), features.index("rear_axle")
    assert apart(control, control + 2) == pytest.approx(30.0 * STEEL[0], rel=1e-6)
    assert apart(axle, axle + 1) == pytest.approx(30.0 * ALUMINIUM[0], rel=1e-6)


def test_a_scale_that_grows_alike_reads_cold_lengths() -> None:
    warmth = Warmth(50.0, 0.0, 50.0, STEEL[0], {"frame": (STEEL[0], 0.0)})
    warm = replace(EXACT, warmth=warmth)
    hot = without_noise(BENT, warm, draw_session(BENT, warm, rng()))
    cold = without_noise(BENT, EXACT, draw_session(BENT, EXACT, rng()))
    control = [name[0] == "control" for name in cold.names]
    middle = (cold.places[control] - cold.places[control].mean(0)).ravel()
    assert (hot.places[control] - hot.places[control].mean(0)).ravel() == pytest.approx(middle)


def test_what_is_measured_last_moves_with_a_slip() -> None:
    slipped = replace(EXACT, rig=with_slip(QUIET, [0.0, 2.0, 0.0]), returned=("pair",))
    survey = exact(slipped)
    moved = of(survey, "pair", station="return") - of(survey, "pair")
    assert np.linalg.norm(moved, axis=1) == pytest.approx(np.full(4, 2.0))


def test_an_instrument_that_sees_badly_in_depth_says_so() -> None:
    extent = replace(EXACT, rig=replace(QUIET, noise_mm=0.1), depth_mm=0.6)
    session = draw_session(BENT, extent, rng())
    places = without_noise(BENT, extent, session).places
    drawn = rng(3)
    scores = []
    for _ in range(200):
        survey = measure(BENT, extent, drawn, session).survey
        for row in (0, 30, 50):
            off = survey.xyz[row] - places[row]
            scores.append(off @ np.linalg.solve(survey.cov[row], off))
    # Chi-square with three degrees of freedom: mean 3, variance 6.
    assert np.mean(scores) == pytest.approx(3.0, abs=4.0 * math.sqrt(6.0 / len(scores)))
    assert math.sqrt(np.linalg.eigvalsh(survey.cov[30])[2]) == pytest.approx(math.hypot(0.1, 0.6))


def test_an_arm_may_be_measured_alone() -> None:
    alone = Rig(targets=(), head_face_points=0)
    survey = exact(replace(EXACT, rig=alone, features=("rear_axle", "axle_face")))
    assert set(survey.feature) == {"pivot", "pivot_face", "rear_axle", "axle_face"}


def test_the_stated_distance_of_two_targets_is_theirs() -> None:
    survey = exact(replace(EXACT, spacing_u_mm=1e-6))
    ((one, other, apart, u),) = survey.target_spacing
    places = (of(survey, "steer_target", name, "2")[0] for name in (one, other))
    assert apart == pytest.approx(math.dist(*places), abs=1e-4)
    assert u == 1e-6
