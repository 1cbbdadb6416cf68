"""Readings looked at as they come: sound ones are let pass, gross mistakes are said by name."""

import json
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app import resources
from app.chassis.noticed import Noticed
from app.chassis.readings import look
from app.chassis.survey import Floats, Reference, Survey
from app.demonstration.pose import Pose
from app.demonstration.rigs import Rig, Target
from app.demonstration.seed_files import BENT
from app.demonstration.simulator import simulate
from app.schemas.reading import reference_from, survey_from
from app.services.solving import reference_to_engine, to_engine

SEED = resources.seed_data()
RIG = Rig(pivot_mm=(250.0, -250.0), head_face_points=3)


def seed_file(name: str) -> Any:
    return json.loads((SEED / name).read_text(encoding="utf-8"))


REFERENCE = reference_to_engine(reference_from(seed_file("reference.json")))
FULL = reference_to_engine(reference_from(seed_file("full-reference.json")))
WHOLE = to_engine(survey_from(seed_file("full-survey.json")))


def made(seed: int = 1, pose: Pose = BENT, rig: Rig = RIG) -> Survey:
    return simulate(pose, rig, np.random.default_rng(seed)).survey


def part(survey: Survey, count: int) -> Survey:
    """The first points of a survey: how it stood while it was measured."""
    return kept(survey, list(range(count)))


def kept(survey: Survey, places: list[int]) -> Survey:
    return replace(
        survey,
        feature=tuple(survey.feature[i] for i in places),
        label=tuple(survey.label[i] for i in places),
        station=tuple(survey.station[i] for i in places),
        turn=tuple(survey.turn[i] for i in places),
        xyz=survey.xyz[places],
        u=survey.u[places],
        offset=survey.offset[places],
    )


def places(survey: Survey, feature: str, label: str | None = None) -> list[int]:
    return [
        i
        for i, (one, name) in enumerate(zip(survey.feature, survey.label, strict=True))
        if one == feature and label in (None, name)
    ]


def first_only(survey: Survey) -> Survey:
    """Without what was measured again."""
    return kept(survey, [i for i, name in enumerate(survey.station) if name != "return"])


def moved(survey: Survey, place: int, xyz: Any) -> Survey:
    changed = survey.xyz.copy()
    changed[place] = xyz
    return replace(survey, xyz=changed)


def swapped(survey: Survey, one: list[int], other: list[int]) -> Survey:
    changed = survey.xyz.copy()
    changed[one + other] = survey.xyz[other + one]
    return replace(survey, xyz=changed)


def alarms(found: tuple[Noticed, ...]) -> list[Noticed]:
    """Without what is told for its own sake: which station was measured once more."""
    return [one for one in found if one.code != "station_again"]


def codes(found: tuple[Noticed, ...]) -> list[str]:
    return [one.code for one in found]


def fact(found: Noticed, name: str) -> Any:
    return dict(found.facts)[name]


def only(found: tuple[Noticed, ...]) -> Noticed:
    (one,) = found
    return one


@pytest.mark.parametrize("survey", [WHOLE, made(3), made(4, Pose())])
def test_a_sound_survey_is_let_pass_at_every_point_of_its_way(survey: Survey) -> None:
    reference = FULL if survey is WHOLE else REFERENCE
    for count in range(len(survey.feature) + 1):
        found = look(part(survey, count), reference)
        assert alarms(found) == [], (count, found)


def test_sound_surveys_are_let_pass_without_a_reference_too() -> None:
    assert alarms(look(WHOLE, Reference())) == []


@settings(deadline=None, max_examples=40, derandomize=True)
@given(
    seed=st.integers(0, 10_000),
    twist=st.floats(-3.0, 3.0),
    reach=st.floats(640.0, 720.0),
    offset=st.floats(-15.0, 15.0),
)
def test_a_bent_frame_is_no_mistake(seed: int, twist: float, reach: float, offset: float) -> None:
    pose = replace(Pose(), head_twist_deg=twist, head_reach_mm=reach, head_offset_mm=offset)
    survey = first_only(made(seed, pose))
    assert look(survey, REFERENCE) == ()


def test_a_point_far_off_is_named() -> None:
    survey = first_only(made())
    face = places(survey, "head_face")[2]
    found = only(look(moved(survey, face, [4000.0, 4100.0, 90.0]), REFERENCE))
    assert (found.code, found.points, found.grave) == ("point_implausible", (face,), True)
    assert fact(found, "reason") == "far"
    assert fact(found, "distance_mm") > fact(found, "highest_mm")


@pytest.mark.parametrize(
    ("unit", "mm"), [("metres", 1000.0), ("inches", 25.4), ("centimetres", 10.0)]
)
def test_a_point_in_another_unit_is_told_by_its_unit(unit: str, mm: float) -> None:
    survey = shifted(first_only(made()), [900.0, -700.0, 1500.0])
    face = places(survey, "head_face")[0]
    found = only(look(moved(survey, face, survey.xyz[face] / mm), REFERENCE))
    assert (found.code, fact(found, "reason"), fact(found, "unit")) == (
        "point_implausible", "unit", unit,
    )  # fmt: skip


def shifted(survey: Survey, by: Any) -> Survey:
    """The instrument stands elsewhere."""
    return replace(survey, xyz=survey.xyz + np.array(by))


def test_a_whole_survey_in_metres_is_told_from_its_second_point_on() -> None:
    survey = made()
    small = part(replace(survey, xyz=survey.xyz / 1000.0), 2)
    found = only(look(small, REFERENCE))
    assert (found.code, fact(found, "unit")) == ("apart_implausible", "metres")


@pytest.mark.parametrize(("axis", "factor", "reason"), [(0, -1.0, "sign"), (2, 10.0, "comma")])
def test_a_mistyped_coordinate_is_told_by_its_axis(axis: int, factor: float, reason: str) -> None:
    survey = shifted(first_only(made()), [2500.0, 2200.0, 3100.0])
    face = places(survey, "head_face")[1]
    wrong = survey.xyz[face].copy()
    wrong[axis] *= factor
    found = only(look(moved(survey, face, wrong), REFERENCE))
    assert (fact(found, "reason"), fact(found, "axis")) == (reason, "XYZ"[axis])


def test_the_wrong_part_is_named_where_it_would_fit() -> None:
    survey = first_only(made())
    face = places(survey, "head_face")[0]
    beside = survey.xyz[places(survey, "pivot_face", "left")[0]] + 12.0
    found = only(look(moved(survey, face, beside), REFERENCE))
    assert (found.feature, fact(found, "reason"), fact(found, "fits")) == (
        "head_face", "fits", "pivot_face",
    )  # fmt: skip


def test_exchanged_sides_are_told() -> None:
    survey = first_only(WHOLE)
    wrong = swapped(
        survey, places(survey, "pivot_face", "left"), places(survey, "pivot_face", "right")
    )
    assert ("sides_swapped", "pivot_face") in [(one.code, one.feature) for one in look(wrong, FULL)]
    tail = swapped(
        survey, places(survey, "pair", "tail.left"), places(survey, "pair", "tail.right")
    )
    found = only(look(tail, FULL))
    assert (found.code, fact(found, "label")) == ("sides_swapped", "tail")


def test_one_side_alone_is_held_against_the_middle() -> None:
    survey = first_only(WHOLE)
    right = places(survey, "pair", "tail.right")[0]
    left = places(survey, "pair", "tail.left")[0]
    alone = kept(
        moved(survey, left, survey.xyz[right]),
        [i for i in range(len(survey.feature)) if i != right],
    )
    found = only(look(alone, FULL))
    assert (found.code, fact(found, "label")) == ("side_contradicts", "tail.left")


def test_exchanged_control_points_are_told() -> None:
    survey = first_only(WHOLE)
    one = places(survey, "control", "engine_front_left")
    other = places(survey, "control", "seat_rear")
    found = look(swapped(survey, one, other), FULL)
    assert {place for item in found for place in item.points} == {*one, *other}
    assert set(codes(found)) <= {"apart_implausible", "point_implausible", "side_contradicts"}


def test_exchanged_ends_of_the_pivot_contradict_up() -> None:
    survey = first_only(made())
    wrong = swapped(survey, places(survey, "pivot", "left"), places(survey, "pivot", "right"))
    assert "axes_contradict" in codes(look(wrong, REFERENCE))


def test_left_handed_axes_are_told_when_the_steering_was_turned_both_ways() -> None:
    survey = first_only(made())
    assert survey.up is not None
    mirror = np.array([1.0, 1.0, -1.0])
    x, y, z = survey.up
    wrong = replace(survey, xyz=survey.xyz * mirror, up=(x, y, -z))
    assert "turns_contradict" in codes(look(wrong, REFERENCE))


def test_a_reading_sent_twice_is_told() -> None:
    survey = first_only(made())
    left = places(survey, "pivot_face", "left")[0]
    pivot = places(survey, "pivot", "left")[0]
    found = look(moved(survey, left, survey.xyz[pivot]), REFERENCE)
    assert "same_place" in codes(found)


def test_one_hole_may_be_control_point_and_pair() -> None:
    survey = first_only(WHOLE)
    pair = places(survey, "pair", "rest.left")[0]
    control = places(survey, "control", "engine_rear_left")[0]
    both = moved(survey, pair, survey.xyz[control])
    assert "same_place" not in codes(look(both, FULL))


@pytest.mark.parametrize("axis", [0, 1, 2])
@pytest.mark.parametrize("seed", range(4))
def test_a_target_that_gave_way_at_one_station_is_told(seed: int, axis: int) -> None:
    survey = first_only(made(seed))
    target = places(survey, "steer_target", "lower")[3]
    wrong = survey.xyz[target].copy()
    wrong[axis] += 12.0
    found = look(moved(survey, target, wrong), REFERENCE)
    assert found
    assert set(codes(found)) <= {"targets_apart", "off_its_circle"}
    assert fact(found[0], "station") == survey.station[target]


def test_targets_that_changed_names_at_a_station_are_told() -> None:
    survey = first_only(made())
    upper = places(survey, "steer_target", "upper")[4:]
    lower = places(survey, "steer_target", "lower")[4:]
    found = look(swapped(survey, upper, lower), REFERENCE)
    assert "targets_swapped" in codes(found)
    assert fact(found[0], "station") == survey.station[upper[0]]


def test_a_station_that_adds_nothing_is_told_as_advice() -> None:
    rig = replace(RIG, stations_deg=(-30.0, 0.0, 30.0, 28.5))
    found = only(look(first_only(made(2, rig=rig)), REFERENCE))
    assert (found.code, found.grave) == ("station_near", False)
    assert (fact(found, "station"), fact(found, "other")) == ("4", "3")
    assert abs(fact(found, "met_deg") - 1.5) < 1.5


def test_a_station_near_the_first_is_told_before_there_is_a_circle() -> None:
    rig = replace(RIG, stations_deg=(0.0, 2.0, 30.0))
    survey = first_only(made(2, rig=rig))
    second = [i for i, name in enumerate(survey.station) if name in (None, "1", "2")]
    assert codes(look(kept(survey, second), REFERENCE)) == ["station_near"]


@pytest.mark.parametrize(
    ("direction", "code"), [(30.0, "targets_stacked"), (-150.0, "targets_opposite")]
)
def test_targets_that_stand_badly_round_the_axis_are_told(direction: float, code: str) -> None:
    targets = (Target("upper", 180.0, 210.0, 45.0), Target("lower", 160.0, -40.0, direction))
    found = only(look(first_only(made(2, rig=replace(RIG, targets=targets))), REFERENCE))
    assert (found.code, found.grave) == (code, False)


def test_targets_close_together_are_told_at_the_first_station() -> None:
    targets = (Target("upper", 60.0, 40.0, 45.0), Target("lower", 60.0, 10.0, -45.0))
    survey = first_only(made(2, rig=replace(RIG, targets=targets)))
    one = [i for i, name in enumerate(survey.station) if name in (None, "1")]
    assert codes(look(kept(survey, one), REFERENCE)) == ["targets_close"]


def test_a_set_up_that_moved_is_told_with_its_scope() -> None:
    survey = made(5, rig=replace(RIG, slip_mm=(0.0, 2.5, 1.5)))
    found = only(look(survey, REFERENCE))
    assert (found.code, fact(found, "scope")) == ("set_up_moved", "everything")
    steering_only = kept(
        survey,
        [
            i
            for i, name in enumerate(survey.station)
            if name != "return" or survey.feature[i] == "steer_target"
        ],
    )
    found = only(look(steering_only, REFERENCE))
    assert fact(found, "scope") == "unknown"


def test_targets_that_moved_alone_are_told_apart_from_the_machine() -> None:
    survey = made(5)
    returned = [
        i
        for i, name in enumerate(survey.station)
        if name == "return" and survey.feature[i] == "steer_target"
    ]
    changed = survey.xyz.copy()
    changed[returned] += [2.0, 2.0, 0.0]
    found = only(look(replace(survey, xyz=changed), REFERENCE))
    assert (found.code, fact(found, "scope")) == ("set_up_moved", "steering")
    assert (fact(found, "reason"), fact(found, "station")) == ("steering_at", "1")


def test_the_datum_alone_shows_that_the_set_up_moved_overnight() -> None:
    survey = made(5)
    early = [i for i, feature in enumerate(survey.feature) if feature in ("pivot", "pivot_face")]
    found = kept(survey, early)
    assert look(found, REFERENCE) == ()
    changed = found.xyz.copy()
    again = [i for i, name in enumerate(found.station) if name == "return"]
    changed[again] += np.array([1.5, -1.5, 2.0])
    told = only(look(replace(found, xyz=changed), REFERENCE))
    assert (told.code, fact(told, "scope")) == ("set_up_moved", "everything")


def test_nothing_is_noticed_of_nothing() -> None:
    assert look(part(made(), 0), REFERENCE) == ()


def test_turning_and_shifting_the_instrument_changes_nothing() -> None:
    survey = first_only(made())
    face = places(survey, "head_face")[1]
    wrong = moved(survey, face, survey.xyz[face] + 900.0)
    turn: Floats = np.linalg.qr(np.random.default_rng(9).standard_normal((3, 3)))[0]
    turn *= np.sign(np.linalg.det(turn))
    up = turn @ np.array(survey.up)
    elsewhere = replace(
        wrong, xyz=wrong.xyz @ turn.T + 500.0, up=(float(up[0]), float(up[1]), float(up[2]))
    )
    one, other = look(wrong, REFERENCE), look(elsewhere, REFERENCE)
    assert codes(one) == codes(other) == ["point_implausible"]
    assert fact(one[0], "distance_mm") == pytest.approx(fact(other[0], "distance_mm"))
