"""What a survey lacks leaves its characteristics out, and only these."""

from dataclasses import replace

import numpy as np
import pytest

from app.chassis.associated import Associated
from app.chassis.formulas.everything import computed
from app.chassis.survey import Handling, Reference, Tolerance
from app.schemas.characteristic_keys import unit_of
from tests.chassis.formulas.machine import Machine, Wheels, X, Y, Z
from tests.chassis.formulas.seen import Seen

REFERENCE = Reference(
    levelling="by_control",
    control_points=Machine().control,
    characteristics={"distance.front_left.tail": Tolerance()},
    handling=Handling(0.0, 32.0, 300.0, 310.0, 1420.0, 8.0, 690.0),
)
BARE = Machine(
    head=False, steering=False, arm_length=None, pairs={}, axes={}, control={}, level_line=None,
    fork=None, wheels=None,
)  # fmt: skip
ARM = {"arm_length", "axle_toe", "axle_twist", "axle_offset"}
HEAD = {"head_twist", "head_offset", "axis_distance", "face_position", "pivot_width"}
LEVELLED_HEAD = {"head_reach", "head_height", "head_angle"}


def keys(machine: Machine, reference: Reference = REFERENCE) -> set[str]:
    return set(computed(Seen.by(machine).with_derivatives(), reference).values)


def test_every_key_is_one_of_the_schemas() -> None:
    found = keys(Machine())
    assert len(found) > 40
    assert [key for key in found if unit_of(key) is None] == []


def test_a_survey_of_the_arm_alone() -> None:
    found = computed(Seen.by(replace(BARE, arm_length=560.0)).with_derivatives(), REFERENCE)
    assert set(found.values) == ARM | {"pivot_width"}
    assert found.ahead is not None
    assert found.ahead.value @ X > 0.9
    assert found.levelled is None
    assert found.warnings == []


def test_a_survey_of_the_head_alone() -> None:
    head = replace(BARE, head=True, steering=True)
    assert keys(head, replace(REFERENCE, levelling=None)) == HEAD
    by_angle = {"head_angle": Tolerance(24.0)}
    reference = Reference(levelling="by_angle", characteristics=by_angle)
    assert keys(head, reference) == HEAD | LEVELLED_HEAD


def test_a_tail_without_levelling_points_gives_offsets_distances_and_the_width() -> None:
    tail = replace(BARE, pairs=Machine().pairs, control=dict(list(Machine().control.items())[:2]))
    tail = replace(tail, control={**tail.control, "tail": Machine().control["tail"]})
    nominals = {name: Machine().control[name] for name in ("front_left", "tail")}
    reference = replace(REFERENCE, levelling=None, control_points=nominals)
    assert keys(tail, reference) == {
        "pivot_width", "pair_offset.tail", "distance.front_left.tail"
    }  # fmt: skip


def test_a_tail_with_levelling_points_gives_all_of_its_own() -> None:
    tail = replace(BARE, pairs=Machine().pairs, level_line=(-200.0, 350.0))
    assert keys(tail, replace(REFERENCE, levelling="by_line")) == {
        "pivot_width", "pair_offset.tail", "pair_roll.tail", "pair_skew.tail"
    }  # fmt: skip


def test_without_both_faces_nothing_is_said_of_the_middle() -> None:
    whole, without = keys(Machine()), keys(replace(Machine(), width=None))
    lost = {key for key in whole if key.startswith("control.") and key.endswith(".y")}
    assert len(lost) == 4
    lost |= {"head_offset", "pivot_width", "axle_offset", "pair_offset.tail", "datum_shift"}
    assert whole - without == lost


def test_without_the_head_face_the_steering_axis_stays() -> None:
    found = keys(replace(Machine(), head=False))
    assert {"head_twist", "axis_distance", "head_angle", "fork_rake", "wheel_track"} <= found
    assert not found & {"head_offset", "face_position", "head_reach", "front_wheel_offset"}


def test_without_a_steering_axis_the_fork_keeps_what_is_between_its_legs() -> None:
    machine = replace(Machine(), head=False, steering=False)
    found = keys(machine)
    assert {key for key in found if key.startswith("fork")} == {
        "fork_spread", "fork_cross", "fork_spacing"
    }  # fmt: skip
    assert not [key for key in found if "wheel" in key]


def test_a_fork_of_which_nothing_says_what_is_up_is_left_out() -> None:
    machine = replace(Machine(), head=False, steering=False)
    found = computed(Seen(Seen.by(machine).features).with_derivatives(), REFERENCE)
    assert not [key for key in found.values if key.startswith("fork")]
    assert [one.code for one in found.warnings] == ["fork_upward_unknown"]


def test_legs_measured_downward_are_turned_round() -> None:
    seen = Seen.by(Machine())
    turned = Seen(dict(seen.features), seen.up)
    turned.features["leg.left.direction"] = -turned.features["leg.left.direction"]
    one, other = (computed(s.with_derivatives(), REFERENCE).values for s in (seen, turned))
    for key in ("fork_spread", "fork_cross", "fork_rake", "fork_spacing"):
        assert other[key].value == pytest.approx(one[key].value, abs=1e-12)
    trials = np.repeat(turned.numbers[:, np.newaxis], 3, axis=1)
    trials[turned.columns["leg.left.direction"], 1] *= -1.0
    over = computed(turned.over(trials), REFERENCE).values["fork_spread"]
    assert np.asarray(over.value) == pytest.approx(np.full(3, one["fork_spread"].value), abs=1e-12)


def test_an_axle_without_faces_or_named_ends_is_left_out_and_says_so() -> None:
    associated = replace(Seen.by(Machine()).with_derivatives(), axle_faces={})
    found = computed(associated, REFERENCE)
    assert not ARM & set(found.values)
    assert [one.code for one in found.warnings] == ["axle_middle_unknown"]


@pytest.mark.parametrize(("across", "kept"), [(0.49, False), (0.51, True), (-0.51, True)])
def test_an_axis_that_lies_along_the_machine_is_left_out(across: float, kept: bool) -> None:
    seen = Seen.by(Machine())
    direction = across * Y + np.sqrt(1.0 - across**2) * X
    seen.features["axis.shock.direction"] = direction
    found = computed(seen.with_derivatives(), REFERENCE)
    assert ("axis_toe.shock" in found.values) is kept
    codes = [(one.code, dict(one.facts)) for one in found.warnings]
    assert codes == ([] if kept else [("axis_not_crosswise", {"label": "shock"})])


def test_half_a_pair_is_left_out() -> None:
    seen = Seen.by(Machine())
    del seen.features["pair.tail.left"]
    found = computed(seen.with_derivatives(), REFERENCE).values
    assert not [key for key in found if key.startswith("pair")]


@pytest.mark.parametrize(
    ("listed", "expected"),
    [
        (["distance.tail.spar"], ["distance.tail.spar"]),
        (["distance.tail.spar", "distance.spar.tail"], ["distance.spar.tail"]),
        (["distance.spar.tail", "distance.tail.spar"], ["distance.spar.tail"]),
        (["distance.tail.tail", "distance.tail.unmeasured"], []),
        ([], []),
    ],
)
def test_a_distance_is_given_once_under_the_key_that_is_listed(
    listed: list[str], expected: list[str]
) -> None:
    reference = replace(REFERENCE, characteristics={key: Tolerance() for key in listed})
    found = [key for key in keys(Machine(), reference) if key.startswith("distance")]
    assert found == expected


@pytest.mark.parametrize(("aside", "kept"), [(15.0, False), (35.0, True)])
def test_control_points_in_a_line_show_no_frame(aside: float, kept: bool) -> None:
    """Centred second singular values of about 12 and 28 mm: 20 are needed."""
    points = {"a": (-300.0, 0.0, 200.0), "b": (0.0, 0.0, 200.0 + aside), "c": (300.0, 0.0, 200.0)}
    reference = replace(REFERENCE, control_points=points)
    found = keys(replace(Machine(), control=points), reference)
    assert ("datum_roll" in found) is kept


def test_two_control_points_show_no_frame() -> None:
    points = dict(list(Machine().control.items())[:2])
    assert not [key for key in keys(replace(Machine(), control=points)) if "datum" in key]


def test_a_front_wheel_that_no_turn_sets_straight_is_left_out_and_says_so() -> None:
    seen = Seen.by(Machine())
    for side in ("left", "right"):
        seen.features[f"rim.front.{side}.normal"] = seen.features["steering.direction"] + 0.05 * Y
    found = computed(seen.with_derivatives(), REFERENCE)
    assert not {"wheel_lean", "wheel_track"} & set(found.values)
    assert [one.code for one in found.warnings] == ["wheel_never_straight"]


def test_a_front_wheel_alone_is_held_against_the_steering() -> None:
    wheels = Wheels(rear_sides=())
    found = keys(replace(BARE, head=True, steering=True, wheels=wheels))
    assert found & {"wheel_lean", "wheel_track", "front_wheel_lean", "front_wheel_offset"} == {
        "front_wheel_lean", "front_wheel_offset"
    }  # fmt: skip


def test_a_pivot_alone_gives_nothing_and_raises_nothing() -> None:
    whole = Seen.by(replace(BARE, width=None)).with_derivatives()
    found = computed(Associated(whole.pivot), REFERENCE)
    assert found.values == found.handling == {}
    assert found.axes is None
    assert (Z @ whole.pivot.direction.value) == 0.0
