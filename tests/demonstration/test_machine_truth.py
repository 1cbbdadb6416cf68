"""What is true of a whole machine, in cases whose answer is seen without algebra."""

import math
from dataclasses import replace

import numpy as np
import pytest

from app.demonstration import elements
from app.demonstration.datum_truth import placed
from app.demonstration.elements import Head
from app.demonstration.handling_truth import Running, handling_values, trails
from app.demonstration.machine import SOUND, Arm, Axis, Fork, Machine, Wheel, with_bent_pivot
from app.demonstration.machine_truth import Terms, true_values
from app.demonstration.pose import Pose
from app.demonstration.session import draw_session
from app.demonstration.vectors import turned
from tests.demonstration.machines import BENT, EXACT, PLAIN, rng

UPRIGHT = Pose(head_angle_deg=0.0)
ALL_CONTROLS = Terms("by_control", controls=SOUND.controls)


def test_a_machine_in_order_is_out_nowhere() -> None:
    found = true_values(SOUND, ALL_CONTROLS)
    sizes = {"axis_distance", "face_position", "pivot_width", "arm_length", "fork_spacing"}
    sizes |= {"fork_offset", "head_reach", "head_height", "head_angle"}
    assert len(found) == 50
    for key, value in found.items():
        if key not in sizes:
            assert value == pytest.approx(0.0, abs=1e-9), key


@pytest.mark.parametrize("droop", [-20.0, 0.0, 7.0, 35.0, 80.0])
def test_the_arms_own_shape_does_not_change_as_it_droops(droop: float) -> None:
    arm = Arm(571.0, droop, toe_deg=0.7, twist_deg=-1.2, offset_mm=3.0)
    found = true_values(Machine(arm=arm), Terms())
    assert found["arm_length"] == pytest.approx(571.0)
    assert found["axle_toe"] == pytest.approx(0.7)
    assert found["axle_twist"] == pytest.approx(-1.2)
    assert found["axle_offset"] == pytest.approx(3.0)


def test_the_left_end_of_a_toed_axle_lies_rearward_and_of_a_twisted_one_high() -> None:
    toed = elements.axle(Arm(droop_deg=0.0, toe_deg=1.0)).direction
    twisted = elements.axle(Arm(droop_deg=0.0, twist_deg=1.0)).direction
    assert toed[0] < 0.0
    assert toed[2] == 0.0
    assert twisted[2] > 0.0
    assert twisted[0] == pytest.approx(0.0)


@pytest.mark.parametrize("head", [Pose(), Pose(0.8, 3.0, 688.0, 315.0, 22.5)])
def test_a_fork_is_as_it_was_made(head: Pose) -> None:
    fork = Fork(0.4, -0.6, 199.0, rake_deg=1.1, lean_deg=-0.8, offset_mm=28.0, aside_mm=2.0)
    found = true_values(Machine(head, fork=fork), Terms())
    assert found["fork_spread"] == pytest.approx(0.4)
    assert found["fork_cross"] == pytest.approx(-0.6)
    assert found["fork_spacing"] == pytest.approx(199.0)
    assert found["fork_rake"] == pytest.approx(1.1)
    assert found["fork_lean"] == pytest.approx(-0.8)
    assert found["fork_offset"] == pytest.approx(28.0)


def test_a_fork_in_order_stands_ahead_of_its_axis_and_its_left_leg_left() -> None:
    left, right = elements.legs(Fork(), Head.of(UPRIGHT))
    assert left.point - right.point == pytest.approx([0.0, 205.0, 0.0])
    assert left.point[0] - UPRIGHT.head_reach_mm == pytest.approx(32.0)
    raked, _ = elements.legs(Fork(rake_deg=2.0), Head.of(UPRIGHT))
    assert raked.direction[0] == pytest.approx(math.sin(math.radians(2.0)))
    leaning, _ = elements.legs(Fork(lean_deg=2.0), Head.of(UPRIGHT))
    assert leaning.direction[1] == pytest.approx(-math.sin(math.radians(2.0)))


def test_legs_measured_at_other_heights_are_another_pair() -> None:
    """Of crossed legs the line from one to the other turns with the height."""
    session = replace(draw_session(PLAIN, EXACT, rng()), legs=np.tile([150.0, -50.0], (2, 1)))
    straight, aslant = true_values(PLAIN, Terms()), true_values(PLAIN, Terms(), session)
    assert aslant["fork_spread"] == pytest.approx(straight["fork_spread"], abs=0.01)
    # Half the legs' angle to each side, 50 mm higher up, over their distance.
    turn = 2.0 * 50.0 * math.radians(0.25) / 204.0
    by_rake = math.radians(0.8) * math.degrees(turn)
    assert aslant["fork_lean"] - straight["fork_lean"] == pytest.approx(by_rake, rel=0.05)


def test_on_an_upright_steering_axis_the_wheels_are_seen_as_they_are() -> None:
    """Turned straight, a toed wheel points ahead, and its middle swings about the axis."""
    machine = Machine(
        UPRIGHT,
        controls=SOUND.controls,
        front_wheel=Wheel((30.0, 4.0, -400.0), toe_deg=2.0, lean_deg=0.0),
        rear_wheel=Wheel((-550.0, 1.0, -70.0)),
    )
    found = true_values(machine, ALL_CONTROLS)
    toe = math.radians(2.0)
    assert found["wheel_lean"] == pytest.approx(0.0)
    assert found["wheel_track"] == pytest.approx(4.0 * math.cos(toe) - 30.0 * math.sin(toe) - 1.0)
    assert found["front_wheel_lean"] == pytest.approx(0.0)
    assert found["front_wheel_offset"] == pytest.approx(4.0 * math.cos(toe) - 30.0 * math.sin(toe))
    leaning = replace(machine, front_wheel=Wheel((30.0, 4.0, -400.0), lean_deg=1.5))
    assert true_values(leaning, ALL_CONTROLS)["wheel_lean"] == pytest.approx(1.5)
    assert true_values(leaning, ALL_CONTROLS)["front_wheel_lean"] == pytest.approx(1.5)


def test_a_raked_wheel_that_is_turned_leans() -> None:
    """Straight ahead it stands upright again, however its bracket is toed, save for twist."""
    toed = replace(SOUND, front_wheel=replace(SOUND.front_wheel or Wheel((0, 0, 0)), toe_deg=20.0))
    found = true_values(toed, ALL_CONTROLS)
    assert found["wheel_lean"] == pytest.approx(0.0, abs=1e-9)
    twisted = replace(SOUND, head=replace(SOUND.head, head_twist_deg=1.0))
    # The wheel follows the steering axis: in the rear view tan(twist) / cos(head angle).
    seen = math.degrees(math.atan(math.tan(math.radians(1.0)) / math.cos(math.radians(24.0))))
    assert true_values(twisted, ALL_CONTROLS)["wheel_lean"] == pytest.approx(seen, rel=1e-3)


def test_a_bent_pivot_shows_against_the_control_points() -> None:
    def datum(motion: list[float], shift: tuple[float, float, float]) -> list[float]:
        found = true_values(with_bent_pivot(SOUND, turned(np.radians(motion)), shift), ALL_CONTROLS)
        return [found[key] for key in ("datum_roll", "datum_yaw", "datum_shift")]

    assert datum([-0.5, 0.0, 0.0], (0.0, 0.0, 0.0)) == pytest.approx([0.5, 0.0, 0.0])
    assert datum([0.0, 0.0, -0.5], (0.0, 0.0, 0.0)) == pytest.approx([0.0, 0.5, 0.0])
    assert datum([0.0, 5.0, 0.0], (3.0, -2.0, 4.0)) == pytest.approx([0.0, 0.0, 2.0])


def test_placing_finds_the_motion_that_was_made() -> None:
    here = np.array(list(SOUND.controls.values()))
    motion = turned([0.4, -1.1, 2.0])
    rotation, shift = placed(here, here @ motion.T + [3.0, -5.0, 7.0], np.arange(1.0, 6.0))
    assert rotation == pytest.approx(motion)
    assert shift == pytest.approx([3.0, -5.0, 7.0])


def test_levelling_raises_the_front_until_its_rule_holds() -> None:
    nose_down = with_bent_pivot(SOUND, turned([0.0, math.radians(3.0), 0.0]), (0.0, 0.0, 0.0))
    by_line = true_values(nose_down, Terms("by_line"))
    by_control = true_values(nose_down, ALL_CONTROLS)
    for found in (by_line, by_control):
        assert found["head_angle"] == pytest.approx(27.0)
    assert by_control["control.seat_rear.z"] == pytest.approx(0.0, abs=1e-9)
    height = true_values(BENT, Terms("by_height", 330.0))
    angle = true_values(BENT, Terms("by_angle", 25.0))
    assert height["head_height"] == pytest.approx(330.0)
    assert angle["head_angle"] == pytest.approx(25.0)
    with pytest.raises(ValueError, match="by_eye"):
        true_values(SOUND, Terms("by_eye"))


def test_weights_of_control_points_count() -> None:
    """With all the weight on one point, that one lies in its nominal's direction."""
    weights = dict.fromkeys(SOUND.controls, 1e-9) | {"seat_rear": 1.0}
    found = true_values(BENT, replace(ALL_CONTROLS, weights=weights))
    x, _, z = SOUND.controls["seat_rear"]
    off = complex(found["control.seat_rear.x"], found["control.seat_rear.z"])
    assert (off / complex(x, z)).imag == pytest.approx(0.0, abs=1e-6)


def test_senses_of_pairs_and_axes() -> None:
    pairs = {"tail": ((-10.0, 100.0, 5.0), (0.0, -99.0, 0.0))}
    axes = {"bolt": Axis((0.0, 0.0, 0.0), toe_deg=1.0, twist_deg=2.0)}
    found = true_values(Machine(pairs=pairs, axes=axes), Terms("by_angle", 24.0))
    assert found["pair_offset.tail"] == pytest.approx(0.5)
    assert found["pair_roll.tail"] == pytest.approx(math.degrees(math.atan2(5.0, 199.0)))
    assert found["pair_skew.tail"] == pytest.approx(math.degrees(math.atan2(10.0, 199.0)))
    assert found["axis_toe.bolt"] == pytest.approx(1.0)
    assert found["axis_twist.bolt"] == pytest.approx(2.0)


def test_trail_by_drawing_agrees_with_the_written_relation() -> None:
    """Normal trail R sin e - f; along the ground that over cos e (Meijaard et al. 2007)."""
    found = trails(24.0, Running(fork_offset_mm=35.0, front_tyre_radius_mm=300.0))
    e = math.radians(24.0)
    assert found["normal_trail_mm"] == pytest.approx(300.0 * math.sin(e) - 35.0)
    assert found["trail_mm"] == pytest.approx((300.0 * math.sin(e) - 35.0) / math.cos(e))


def test_contacts_follow_twist_lean_and_toe() -> None:
    twisted = Machine(Pose(head_twist_deg=1.0, head_offset_mm=2.0), arm=Arm(offset_mm=1.0))
    found = handling_values(twisted, 24.0, Running(head_above_ground_mm=700.0))
    slope = math.tan(math.radians(1.0)) / math.cos(math.radians(24.0))
    assert found["front_contact_mm"] == pytest.approx(2.0 + 700.0 * slope)
    assert found["rear_contact_mm"] == pytest.approx(1.0)
    assert found["wheel_line_mm"] == pytest.approx(1.0 + 700.0 * slope)
    hanging = Machine(arm=Arm(toe_deg=1.0))
    straight_down = handling_values(hanging, 24.0, Running(arm_droop_deg=90.0))
    # Toe of an arm that hangs straight down is a lean: its left end low, its top to the left.
    assert straight_down["rear_contact_mm"] == pytest.approx(-310.0 * math.sin(math.radians(1.0)))
