"""What a plan foresees beyond the head, on wheels, and of targets that a rig lacks, comes true."""

import math
from dataclasses import replace

import numpy as np
import pytest

from app.chassis.candidate_places import Candidate
from app.chassis.evaluate import evaluate
from app.chassis.planning import foreseen, plan
from app.chassis.result import Result
from app.chassis.survey import Reference, Survey, Tolerance
from app.demonstration.machine import SOUND
from app.demonstration.machine_survey import Measured, measure, without_noise
from app.demonstration.simulator import Pose, Rig, Target, measured_without_noise, simulate
from tests.simulation.machines import WHOLE

pytestmark = pytest.mark.simulation

MACHINES = 4
SPOTS = ("named_point", "line_point", "arm_face_point")
"""What is measured once more where it was measured before."""


def expanded(result: Result) -> dict[str, float]:
    return {item.key: item.expanded_uncertainty for item in result.characteristics}


def once_more(candidate: Candidate, made: Measured, rng: np.random.Generator) -> Survey:
    """The survey with the same spots read again, with noise of their own."""
    survey, patterns = made.survey, [point.pattern for point in candidate.points]
    exact = without_noise(made.machine, made.extent, made.session).places[patterns]
    noise = made.extent.rig.noise_mm * rng.standard_normal(exact.shape)
    return replace(
        survey,
        feature=(*survey.feature, *[survey.feature[i] for i in patterns]),
        label=(*survey.label, *[survey.label[i] for i in patterns]),
        station=(*survey.station, *[survey.station[i] for i in patterns]),
        turn=(*survey.turn, *[None for _ in patterns]),
        xyz=np.vstack([survey.xyz, exact + noise]),
        u=np.append(survey.u, survey.u[patterns]),
        offset=np.append(survey.offset, survey.offset[patterns]),
    )


def test_what_is_foreseen_on_a_whole_machine_comes_true() -> None:
    rng = np.random.default_rng(20261126)
    met: dict[str, set[str]] = {}
    for _ in range(MACHINES):
        made = measure(SOUND, WHOLE.extent, rng)
        assert evaluate(made.survey, WHOLE.reference).noise_check.verdict == "as_claimed"
        for one in foreseen(made.survey, WHOLE.reference):
            if one.candidate.code not in SPOTS:
                continue
            met.setdefault(one.candidate.code, set()).add(one.candidate.feature)
            result = evaluate(once_more(one.candidate, made, rng), WHOLE.reference)
            if result.noise_check.verdict != "as_claimed":
                continue
            then = expanded(result)
            for key, value in one.expanded.items():
                assert then[key] == pytest.approx(value, rel=0.1), (one.candidate, key)
    assert met == {
        "named_point": {"control", "pair", "level_line"},
        "line_point": {"axis", "rear_axle", "fork_leg"},
        "arm_face_point": {"axle_face"},
    }


def test_each_characteristic_of_a_whole_machine_is_helped_by_something_of_its_own() -> None:
    """The suggestion touches a feature that the characteristic is made of."""
    made = measure(SOUND, WHOLE.extent, np.random.default_rng(20261127))
    best = {one.key: one.best for one in plan(made.survey, WHOLE.reference).outlooks}
    own = {
        "axle_toe": {"rear_axle", "pivot"},
        "fork_spread": {"fork_leg"},
        "pair_roll.tail": {"pair"},
        "distance.engine_front_left.engine_rear_right": {"control"},
        "front_wheel_lean": {"front_rim"},
        "pivot_width": {"pivot_face"},
        "head_twist": {"steer_target", "pivot"},
    }
    for key, features in own.items():
        found = best[key]
        assert found is not None
        assert found.candidate.feature in features, (key, found.candidate)


def without(survey: Survey, places: set[int]) -> Survey:
    kept = [i for i in range(len(survey.feature)) if i not in places]
    return replace(
        survey,
        feature=tuple(survey.feature[i] for i in kept),
        label=tuple(survey.label[i] for i in kept),
        station=tuple(survey.station[i] for i in kept),
        turn=tuple(survey.turn[i] for i in kept),
        xyz=survey.xyz[kept],
        u=survey.u[kept],
        offset=survey.offset[kept],
    )


def foreseen_of(survey: Survey, code: str, feature: str, side: str) -> dict[str, float]:
    (found,) = [
        one.expanded
        for one in foreseen(survey, WHOLE.reference)
        if (one.candidate.code, one.candidate.feature) == (code, feature)
        and ("side", side) in one.candidate.facts
    ]
    return dict(found)


@pytest.mark.parametrize("side", ["left", "right"])
def test_a_wheel_measured_again_half_a_turn_on_brings_what_was_foreseen(side: str) -> None:
    extent = replace(WHOLE.extent, half_turn=True)
    whole = measure(SOUND, extent, np.random.default_rng(20261128)).survey
    places = list(zip(whole.feature, whole.label, whole.station, strict=True))
    turned = {i for i, p in enumerate(places) if (p[0], p[2]) == ("front_rim", "half_turn")}
    later = {i for i in turned if whole.label[i] != side}
    assert len(turned) == 2 * len(later) > 0
    told = foreseen_of(without(whole, turned), "rim_half_turn", "front_rim", side)
    then = expanded(evaluate(without(whole, later), WHOLE.reference))
    now = expanded(evaluate(without(whole, turned), WHOLE.reference))
    assert then["front_wheel_lean"] < 0.95 * now["front_wheel_lean"]
    for key, value in told.items():
        assert then[key] == pytest.approx(value, rel=0.1), key


def test_a_point_in_the_gap_of_a_rim_brings_what_was_foreseen() -> None:
    extent = replace(WHOLE.extent, rim_points=5)
    whole = measure(SOUND, extent, np.random.default_rng(20261129)).survey
    places = list(zip(whole.feature, whole.label, strict=True))
    edge = [i for i, place in enumerate(places) if place == ("rear_rim", "left")]
    # The simulated touches go round evenly: without one of them the widest gap is there.
    short = without(whole, {edge[2]})
    told = foreseen_of(short, "rim_point", "rear_rim", "left")
    then, now = (expanded(evaluate(one, WHOLE.reference)) for one in (whole, short))
    assert then["wheel_lean"] < now["wheel_lean"]
    for key, value in told.items():
        assert then[key] == pytest.approx(value, rel=0.1), key


def test_one_more_target_on_a_stacked_rig_brings_what_was_foreseen() -> None:
    """A third target a quarter turn from the first of a stack, at three stations more."""
    rng = np.random.default_rng(20261130)
    reference = Reference(materials={"frame": "steel"})
    stacked = Rig(
        targets=(Target("upper", 180.0, 210.0, 10.0), Target("lower", 160.0, -40.0, 10.0))
    )
    made = simulate(Pose(), stacked, rng)
    (told,) = [one for one in foreseen(made.survey, reference) if one.candidate.code == "target"]
    beside = dict(told.candidate.facts)["label"]
    (first,) = [target for target in stacked.targets if target.name == beside]
    third = replace(first, name="target_0", direction_deg=first.direction_deg + 90.0)
    rig = replace(
        stacked, targets=(*stacked.targets, third), stations_deg=(-30.0, 0.0, 30.0),
        pivot_mm=(), face_points=0, head_face_points=0, return_steering=False, return_pivot=False,
    )  # fmt: skip
    steering = np.radians(rig.stations_deg) + 0.01 * rng.standard_normal(3)
    place = np.array([third.radius_mm, third.height_mm, math.radians(third.direction_deg)])
    setup = replace(
        made.setup,
        targets=np.vstack([made.setup.targets, place]),
        steering=steering,
        pivot=np.zeros(0),
        face=np.zeros((0, 2)),
        head_face=np.zeros((0, 2)),
    )
    exact = measured_without_noise(Pose(), rig, setup)
    survey, names = made.survey, [target.name for target in rig.targets] * 3
    grown = replace(
        survey,
        feature=(*survey.feature, *["steer_target"] * 9),
        label=(*survey.label, *names),
        station=(*survey.station, *[f"more_{i // 3}" for i in range(9)]),
        turn=(*survey.turn, *[None] * 9),
        xyz=np.vstack([survey.xyz, exact + rig.noise_mm * rng.standard_normal(exact.shape)]),
        u=np.append(survey.u, np.full(9, np.nan)),
        offset=np.append(survey.offset, np.full(9, np.nan)),
    )
    then, now = (expanded(evaluate(one, reference)) for one in (grown, survey))
    assert then["axis_distance"] < 0.8 * now["axis_distance"]
    for key, value in told.expanded.items():
        assert then[key] == pytest.approx(value, rel=0.1), key


def test_half_measured_machines_have_a_plan_at_every_point() -> None:
    """Any first part of the points, and any part at all: solved, or what is needed first."""
    rng = np.random.default_rng(20261201)
    whole = measure(SOUND, WHOLE.extent, rng).survey
    count = len(whole.feature)
    parts = [set(range(begun, count)) for begun in range(1, count, 9)]
    parts += [
        set(rng.choice(count, size=int(rng.integers(1, count - 2)), replace=False).tolist())
        for _ in range(8)
    ]
    solved = 0
    for part in parts:
        made = plan(without(whole, part), WHOLE.reference)
        assert (made.needed_first is None) == bool(made.outlooks)
        solved += made.needed_first is None
    assert 2 <= solved < len(parts)


def test_a_datum_and_control_points_without_a_head_have_a_plan() -> None:
    """The pivot's line and points of the frame: they tell roll, yaw and distances."""
    whole = measure(SOUND, WHOLE.extent, np.random.default_rng(20261202)).survey
    others = {i for i, name in enumerate(whole.feature) if name not in ("pivot", "control")}
    lines = {**WHOLE.reference.characteristics, "head_twist": Tolerance(0.0, -0.3, 0.3)}
    made = plan(without(whole, others), replace(WHOLE.reference, characteristics=lines))
    assert made.needed_first is None
    keys = {one.key for one in made.outlooks}
    assert {"datum_roll", "datum_yaw", "distance.engine_front_left.engine_rear_right"} <= keys
    assert "head_twist" in {dict(need.facts).get("key") for need in made.still_needed}
