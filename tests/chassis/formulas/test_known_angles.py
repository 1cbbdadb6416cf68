"""Machines built from known angles give these angles back, wherever the instrument stands."""

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from app.chassis.formulas.everything import Computed, computed
from app.chassis.survey import Reference, Tolerance
from tests.chassis.formulas.machine import Fork, Machine, Pair, Wheels, turning
from tests.chassis.formulas.seen import Seen

AWAY = turning(np.array([0.3, -0.8, 0.5]), 112.0), np.array([1500.0, -730.0, 420.0])
PLAIN = Machine()


def reference(rule: str | None = "by_control", **characteristics: float) -> Reference:
    return Reference(
        levelling=rule,
        characteristics={key: Tolerance(nominal) for key, nominal in characteristics.items()},
        control_points=Machine().control,
    )


def solved(machine: Machine, of: Reference | None = None) -> Computed:
    return computed(Seen.by(machine, *AWAY).with_derivatives(), of or reference())


def number(found: Computed, key: str) -> float:
    """In mm or degrees."""
    value = float(found.values[key].value)
    return math.degrees(value) if key.split(".")[0] in ANGLES else value


ANGLES = frozenset(
    {
        "head_twist", "head_angle", "axle_toe", "axle_twist", "pair_roll", "pair_skew",
        "axis_toe", "axis_twist", "datum_roll", "datum_yaw", "fork_spread", "fork_cross",
        "fork_rake", "fork_lean", "wheel_lean", "front_wheel_lean",
    }
)  # fmt: skip


@pytest.mark.parametrize("rule", ["by_control", "by_line", "by_height", "by_angle"])
def test_a_machine_in_order_has_the_numbers_it_was_built_with(rule: str) -> None:
    found = solved(PLAIN, reference(rule, head_height=380.0, head_angle=24.0))
    assert found.levelled == rule
    assert found.warnings == []
    expected = {"head_reach": 640.0, "head_height": 380.0, "head_angle": 24.0, "pivot_width": 240.0}
    lean = math.radians(24.0)
    expected["axis_distance"] = 640.0 * math.cos(lean) + 380.0 * math.sin(lean)
    expected["face_position"] = 380.0 * math.cos(lean) - 640.0 * math.sin(lean)
    expected |= {"arm_length": 560.0, "fork_spacing": 190.0, "fork_offset": 32.0}
    # The front wheel is built in line with the rear one, four to the left of the middle.
    expected["front_wheel_offset"] = 4.0
    for key in found.values:
        wanted = expected.get(key, 0.0)
        assert number(found, key) == pytest.approx(wanted, abs=1e-9), key


BENT: list[tuple[dict[str, Any], dict[str, float]]] = [
    ({"twist": 1.5, "offset": -6.0, "angle": 26.0},
     {"head_twist": 1.5, "head_offset": -6.0, "head_angle": 26.0}),
    ({"reach": 610.0, "height": 395.0}, {"head_reach": 610.0, "head_height": 395.0}),
    ({"toe": 0.8, "axle_twist": -1.1, "axle_offset": 3.0, "droop": 19.0},
     {"axle_toe": 0.8, "axle_twist": -1.1, "axle_offset": 3.0, "arm_length": 560.0}),
    ({"pairs": {"tail": Pair((-300.0, 5.0, 260.0), roll=2.0, skew=-1.2)}},
     {"pair_offset.tail": 5.0, "pair_roll.tail": 2.0, "pair_skew.tail": -1.2}),
    ({"axes": {"shock": (1.3, -0.6)}}, {"axis_toe.shock": 1.3, "axis_twist.shock": -0.6}),
    # The legs' points lie 30 mm lower on average than where they are 190 mm apart.
    ({"fork": Fork(spread=0.7, left_height=30.0, right_height=-90.0)},
     {"fork_spread": 0.7, "fork_spacing": 190.0 - 60.0 * math.tan(math.radians(0.35))}),
    ({"fork": Fork(cross=-0.9)}, {"fork_cross": -0.9}),
    ({"fork": Fork(rake=1.4, lean=-0.8, offset=29.0), "twist": 0.6},
     {"fork_rake": 1.4, "fork_lean": -0.8, "fork_offset": 29.0}),
    ({"wheels": Wheels(17.0, lean=1.2, track=6.0, rear_toe=0.7, rear_lean=-0.9), "twist": 1.0},
     {"wheel_lean": 1.2, "wheel_track": 6.0}),
]  # fmt: skip


@pytest.mark.parametrize(("changes", "expected"), BENT)
def test_a_bent_machine_shows_what_was_bent(
    changes: dict[str, Any], expected: dict[str, float]
) -> None:
    found = solved(replace(PLAIN, **changes))
    for key, wanted in expected.items():
        assert number(found, key) == pytest.approx(wanted, abs=1e-8), key


@pytest.mark.parametrize("steer", [-38.0, -12.0, 0.0, 25.0, 44.0])
def test_the_steering_angle_of_the_front_wheel_changes_nothing(steer: float) -> None:
    found = solved(replace(PLAIN, wheels=Wheels(steer=steer, lean=-0.8, track=3.0), twist=0.4))
    straight = solved(replace(PLAIN, wheels=Wheels(lean=-0.8, track=3.0), twist=0.4))
    for key in ("wheel_lean", "wheel_track", "front_wheel_lean", "front_wheel_offset"):
        assert number(found, key) == pytest.approx(number(straight, key), abs=1e-8), key


@pytest.mark.parametrize("side", ["left", "right"])
def test_one_edge_and_the_width_of_the_rim_do_for_two(side: str) -> None:
    wheels = Wheels(9.0, 0.5, 4.0, front_sides=(side,), rear_sides=(side,))
    of = replace(reference(), rim_width_mm=wheels.widths)
    found = solved(replace(PLAIN, wheels=wheels), of)
    assert number(found, "wheel_track") == pytest.approx(4.0, abs=1e-8)
    assert number(found, "wheel_lean") == pytest.approx(0.5, abs=1e-8)


def test_control_points_are_given_as_measured_less_nominal() -> None:
    moved = {**PLAIN.control, "tail": (-246.0, 28.0, 311.5)}
    found = solved(replace(PLAIN, control=moved), reference("by_line"))
    for axis, wanted in (("x", 4.0), ("y", -2.0), ("z", 1.5)):
        assert number(found, f"control.tail.{axis}") == pytest.approx(wanted, abs=1e-9)
        assert number(found, f"control.spar.{axis}") == pytest.approx(0.0, abs=1e-9)


def test_distances_are_those_between_the_points() -> None:
    of = replace(reference(), characteristics={"distance.front_left.tail": Tolerance()})
    assert number(solved(PLAIN, of), "distance.front_left.tail") == pytest.approx(
        math.dist((410.0, 120.0, 95.0), (-250.0, 30.0, 310.0))
    )


def test_the_axles_ends_stand_in_for_the_faces() -> None:
    found = solved(replace(PLAIN, axle_faces=False, axle_offset=2.5, toe=0.4))
    assert number(found, "axle_offset") == pytest.approx(2.5, abs=1e-9)
    assert [caveat.code for caveat in found.warnings] == ["axle_ends_assumed_symmetric"]


@pytest.mark.parametrize(("roll", "yaw", "shift"), [(1.1, -0.7, 5.0), (-2.0, 0.4, -3.0)])
def test_a_pivot_bent_out_of_the_frame_shows_against_its_control_points(
    roll: float, yaw: float, shift: float
) -> None:
    """The frame stands as its nominals say, the pivot axis slants in it."""
    left = np.array([-math.tan(math.radians(yaw)), 1.0, math.tan(math.radians(roll))])
    left /= math.sqrt(left @ left)
    origin = np.array([2.0, shift, -1.5])
    features = PLAIN.features()
    features["pivot.point"], features["pivot.direction"] = origin, left
    features["face.left"], features["face.right"] = origin + 120.0 * left, origin - 120.0 * left
    turn, away = AWAY
    place = {name: turn @ value + away for name, value in features.items()}
    place["pivot.direction"] = turn @ left
    for side in ("face.left", "face.right"):
        place[side] = np.asarray(place["pivot.direction"] @ place[side])
    kept = [name for name in place if name.startswith(("pivot", "face", "control"))]
    found = computed(Seen({name: place[name] for name in kept}).with_derivatives(), reference(None))
    for key, wanted in (("datum_roll", roll), ("datum_yaw", yaw), ("datum_shift", shift)):
        assert number(found, key) == pytest.approx(wanted, abs=1e-8), key
