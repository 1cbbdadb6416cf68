"""The steps of a measurement: what the reference needs, in which order, and what repeats."""

import json
from typing import Any

import pytest

from app import resources
from app.chassis.progress import Taken, current, own_returns, progress, targets_of
from app.chassis.sequence import Again, Step, after_pause, return_name, steps
from app.chassis.sequence_parts import HEAD_KEYS, parts_of
from app.chassis.survey import FEATURES, Reference, Tolerance
from app.schemas.reading import reference_from, survey_from
from app.services.solving import reference_to_engine

LIMIT = Tolerance(0.0, -1.0, 1.0)
FULL = reference_to_engine(
    reference_from(json.loads((resources.seed_data() / "full-reference.json").read_text("utf-8")))
)
POINTS: tuple[Taken, ...] = tuple(
    (point.feature, point.label, point.station)
    for point in survey_from(
        json.loads((resources.seed_data() / "full-survey.json").read_text("utf-8"))
    ).points
)


def wanting(*keys: str, **more: Any) -> Reference:
    return Reference(characteristics=dict.fromkeys(keys, LIMIT), **more)


def codes(found: tuple[Step, ...], *groups: str) -> list[str]:
    return [step.code for step in found if not groups or step.group in groups]


def test_the_datum_comes_first_and_what_closes_it_last() -> None:
    found = steps(FULL, "before")
    measured = [step for step in found if step.feature is not None]

    assert [step.feature for step in measured[:4]] == ["pivot", "pivot", "pivot_face", "pivot_face"]
    assert [step.group for step in measured[4:9]] == ["steering"] * 5
    assert codes(found, "closing") == [
        "return.station", "return.pivot_face.left", "return.pivot.left", "return.pivot.right",
    ]  # fmt: skip
    assert found[-4:] == tuple(step for step in found if step.group == "closing")


def test_codes_are_unique_and_fit_into_an_address() -> None:
    found = codes(steps(FULL, "before", again=[Again(1, ("pivot.left", "station"))]))
    assert len(set(found)) == len(found)
    assert all(set(code) <= set("abcdefghijklmnopqrstuvwxyz0123456789_.") for code in found)


def test_before_measuring_play_mounting_adjusters_and_temperature_are_asked_for() -> None:
    before = codes(steps(FULL, "before"), "before")
    assert before == [
        "cautions", "visual_check", "play", "mounting", "adjusters", "temperature",
    ]  # fmt: skip
    assert "adjusters" not in codes(steps(wanting("head_twist"), "before"))


def test_every_feature_of_a_survey_is_a_step_of_a_reference_that_asks_for_all() -> None:
    every = Reference(
        characteristics={**FULL.characteristics, "bore_runout": LIMIT},
        levelling="by_line",
        control_points=FULL.control_points,
    )
    assert {step.feature for step in steps(every, "before")} - {None} == FEATURES


@pytest.mark.parametrize(
    ("key", "features"),
    [
        ("head_twist", {"steer_target"}),
        ("head_offset", {"steer_target", "head_face"}),
        ("pivot_width", set()),
        ("bore_runout", {"head_bore"}),
        ("axle_toe", {"rear_axle", "axle_face"}),
        ("fork_cross", {"fork_leg"}),
        ("fork_rake", {"fork_leg", "steer_target"}),
        ("front_wheel_lean", {"front_rim", "steer_target"}),
        ("distance.a.b", {"control"}),
        ("pair_offset.tail", {"pair"}),
    ],
)
def test_only_what_a_key_needs_is_measured_besides_the_datum(key: str, features: set[str]) -> None:
    found = {step.feature for step in steps(wanting(key), "before")} - {None}
    assert found == {"pivot", "pivot_face"} | features


def test_levelling_asks_for_what_its_rule_names() -> None:
    controls = {"a": (400.0, 100.0, 90.0), "b": (-300.0, 0.0, 200.0)}
    by_control = wanting("head_reach", levelling="by_control", control_points=controls)
    assert {"control.a", "control.b"} <= set(codes(steps(by_control, "before")))
    by_line = codes(steps(wanting("pair_roll.tail", levelling="by_line"), "before"))
    assert [code for code in by_line if code.startswith("level_line")] == [
        "level_line.front", "level_line.rear",
    ]  # fmt: skip
    by_height = codes(steps(wanting("pair_roll.tail", levelling="by_height"), "before"))
    assert {"station.left", "head_face"} <= set(by_height)


def test_without_a_reference_the_head_is_measured() -> None:
    found = steps(Reference(), "before")
    assert {step.feature for step in found} - {None} == {
        "pivot", "pivot_face", "steer_target", "head_face",
    }  # fmt: skip
    assert {key for step in found for key in step.keys} == set(HEAD_KEYS)
    assert all(step.required for step in found)


def test_what_has_no_limit_is_measured_only_by_whoever_wants_to() -> None:
    reference = Reference(
        characteristics={"head_twist": LIMIT, "arm_length": Tolerance(560.0)},
    )
    found = {step.code: step.required for step in steps(reference, "before")}
    assert found["station.left"]
    assert not found["rear_axle.left"]


def test_each_step_names_the_characteristics_that_it_serves() -> None:
    parts = {(part.feature, part.label): part for part in parts_of(FULL)}
    assert "pair_roll.tail" in parts["pair", "tail.left"].keys
    assert "pair_roll.rest" not in parts["pair", "tail.left"].keys
    assert set(parts["front_rim", "left"].keys) >= {"wheel_lean", "wheel_track"}


def test_between_two_pulls_less_is_measured() -> None:
    found = codes(steps(wanting("head_twist"), "during"))
    assert "visual_check" not in found
    assert [code for code in found if code.startswith("station.")] == [
        "station.left", "station.ahead", "station.right",
    ]  # fmt: skip
    assert "return.pivot.left" in found


def test_the_stations_say_which_way_to_turn_and_every_target_is_wanted() -> None:
    found = [s for s in steps(Reference(), "before", ("a", "b", "c")) if s.group == "steering"]
    assert [(s.turn, s.turn_deg) for s in found] == [
        ("left", 30.0), ("left", 15.0), (None, 0.0), ("right", 15.0), ("right", 30.0),
    ]  # fmt: skip
    assert {(s.names, s.wanted, s.least) for s in found} == {(("a", "b", "c"), 3, 3)}


def test_a_pause_repeats_the_datum_and_one_station_of_what_was_done() -> None:
    assert after_pause([]) == ()
    assert after_pause(["play", "temperature"]) == ()
    assert after_pause(["pivot.left", "pivot.right", "pivot_face.right"]) == (
        "temperature", "pivot.left", "pivot.right", "pivot_face.right",
    )  # fmt: skip
    assert after_pause(["pivot.left", "station.left"])[-1] == "station"


def test_returns_are_counted_on_from_pause_to_pause() -> None:
    again = [Again(1, ("pivot.left",)), Again(2, ("pivot.left", "station"))]
    found = {step.code: step.station for step in steps(Reference(), "before", again=again)}
    assert found["again1.pivot.left"] == "return"
    assert found["again2.station"] == "return2"
    assert found["return.pivot.left"] == "return3"
    assert return_name(1) == "return"


def test_all_points_of_a_whole_survey_find_their_steps() -> None:
    noted = {"cautions", "visual_check", "play", "mounting", "adjusters", "temperature", "rig"}
    found = progress(FULL, "before", POINTS, noted)

    placed = sorted(place for one in found for place in one.points)
    assert placed == list(range(len(POINTS)))
    assert current(found) is None


def test_a_station_that_nobody_suggested_takes_the_place_of_one() -> None:
    points = [("steer_target", name, "s1") for name in ("upper", "lower")]
    found = progress(Reference(), "before", points)
    stations = [one.step.station for one in found if one.step.group == "steering"]
    assert stations == ["s1", "left", "half_left", "ahead", "right"]


def test_what_is_current_follows_the_step_just_done() -> None:
    points = [("pivot", "left", None), ("pivot_face", "left", None)]
    noted = ["cautions", "visual_check", "play", "mounting", "temperature", "rig"]
    found = progress(Reference(), "before", points, noted)
    assert current(found) == "pivot.right"
    assert current(found, "pivot_face.left") == "pivot_face.right"
    assert current(found, "return.pivot.right") == "pivot.right"


def test_after_a_pause_nothing_is_measured_before_the_datum() -> None:
    points = [("pivot", "left", None), ("pivot", "right", None)]
    again = [Again(1, ("temperature", "pivot.left", "pivot.right"))]
    found = progress(Reference(), "before", points, again=again)
    assert current(found, "pivot_face.left") == "again1.temperature"


@pytest.mark.parametrize(
    ("points", "named", "expected"),
    [
        ([], (), ("upper", "lower")),
        (["lower"], (), ("upper", "lower")),
        (["a"], (), ("a",)),
        (["upper"], ("a", "b"), ("a", "b", "upper")),
    ],
)
def test_names_of_targets(points: list[str], named: tuple[str, ...], expected: Any) -> None:
    assert targets_of([("steer_target", name, "left") for name in points], named) == expected


def test_the_number_of_a_return_is_read_from_its_name() -> None:
    assert own_returns([("pivot", "left", None)]) == 0
    assert own_returns([("pivot", "left", "return"), ("pivot", "left", "return12")]) == 12


def test_a_rim_half_a_turn_on_is_for_whoever_wants_it() -> None:
    found = {step.code: step for step in steps(wanting("wheel_track"), "before")}
    step = found["front_rim.left.half_turn"]
    assert (step.station, step.label, step.required) == ("half_turn", "left", False)
