"""Handling figures against the same machine drawn on the ground by hand."""

import math
from dataclasses import fields, replace

import numpy as np
import pytest

from app.chassis.formulas import handling
from app.chassis.survey import Handling
from app.geometry.dual import Scalar
from tests.chassis.formulas.machine import X, Y, Z, turning

GIVEN = Handling(
    attitude_deg=0.8,
    fork_offset_mm=32.0,
    front_tyre_radius_mm=300.0,
    rear_tyre_radius_mm=310.0,
    wheelbase_mm=1420.0,
    arm_droop_deg=8.0,
    head_above_ground_mm=690.0,
)
KNOWN = {
    "head_angle": Scalar(math.radians(23.7)),
    "head_twist": Scalar(math.radians(0.9)),
    "head_offset": Scalar(3.0),
    "axle_toe": Scalar(math.radians(0.6)),
    "axle_twist": Scalar(math.radians(-0.8)),
    "axle_offset": Scalar(-2.0),
}


def figures(given: Handling = GIVEN, **changed: float) -> dict[str, float]:
    known = KNOWN | {key: Scalar(value) for key, value in changed.items()}
    return {name: float(one.value) for name, one in handling.figures(known, given).items()}


def test_trail_is_the_axis_ahead_of_the_tyres_contact_on_the_ground() -> None:
    """In the mid-plane: the wheel's centre stands a radius above the ground and the fork's offset
    ahead of the steering axis; where that axis meets the ground is found by walking along it."""
    lean = math.radians(24.5)
    down = np.array([math.sin(lean), -math.cos(lean)])
    ahead = np.array([math.cos(lean), math.sin(lean)])
    centre = np.array([0.0, 300.0])
    on_axis = centre - 32.0 * ahead
    ground = on_axis + down * (on_axis[1] / -down[1])
    found = figures()
    assert found["trail_mm"] == pytest.approx(ground[0] - centre[0])
    across = np.array([0.0, 0.0]) - on_axis
    assert found["normal_trail_mm"] == pytest.approx(-(across @ ahead))


def test_the_front_tyre_touches_where_the_leaning_steering_axis_meets_the_ground() -> None:
    up = turning(Y, -24.5) @ Z
    up = turning(turning(Y, -24.5) @ X, 0.9) @ up
    head = np.array([0.0, 3.0, 690.0])
    assert figures()["front_contact_mm"] == pytest.approx((head - up * (690.0 / up[2]))[1])


def test_the_rear_tyre_touches_at_the_lowest_point_of_a_leaning_wheel() -> None:
    found = figures(replace(GIVEN, arm_droop_deg=0.0), axle_toe=0.0, axle_twist=math.radians(1.5))
    axle = turning(X, 1.5) @ Y
    upward = Z - axle * axle[2]
    lowest = -310.0 * upward / math.sqrt(upward @ upward)
    assert found["rear_contact_mm"] == pytest.approx(-2.0 + lowest[1])


def test_a_drooping_arm_shares_toe_and_twist_out_between_plan_and_upright() -> None:
    """The axle's direction, known in the arm's own axes, is turned down with the arm."""
    found = figures()
    toe, twist = math.radians(0.6), math.radians(-0.8)
    in_arm = np.array([-math.tan(toe), 1.0, math.tan(twist)])
    # The arm points backwards: as it droops, its own up leans forward.
    axle = turning(Y, -8.0) @ in_arm
    lean, plan = math.atan2(axle[2], axle[1]), math.atan2(-axle[0], axle[1])
    assert found["rear_contact_mm"] == pytest.approx(-2.0 + 310.0 * math.sin(lean), abs=1e-3)
    line = found["front_contact_mm"] - found["rear_contact_mm"] - 1420.0 * math.tan(plan)
    assert found["wheel_line_mm"] == pytest.approx(line, abs=1e-2)


def test_a_wheel_that_points_left_has_its_line_to_the_left_of_the_front_tyre() -> None:
    level = replace(GIVEN, arm_droop_deg=0.0)
    found = figures(
        level,
        axle_toe=math.radians(1.0),
        axle_twist=0.0,
        axle_offset=0.0,
        head_offset=0.0,
        head_twist=0.0,
    )
    assert found["front_contact_mm"] == found["rear_contact_mm"] == 0.0
    # The line runs 1420 mm forward from the rear contact, to the left.
    assert found["wheel_line_mm"] == pytest.approx(-(turning(Z, 1.0) @ X * 1420.0)[1], rel=1e-3)


NEEDED_BY = {
    "attitude_deg": {"normal_trail_mm", "trail_mm", "front_contact_mm", "wheel_line_mm"},
    "fork_offset_mm": {"normal_trail_mm", "trail_mm"},
    "front_tyre_radius_mm": {"normal_trail_mm", "trail_mm"},
    "rear_tyre_radius_mm": {"rear_contact_mm", "wheel_line_mm"},
    "wheelbase_mm": {"wheel_line_mm"},
    "arm_droop_deg": {"rear_contact_mm", "wheel_line_mm"},
    "head_above_ground_mm": {"front_contact_mm", "wheel_line_mm"},
}


def test_all_five_figures_are_there() -> None:
    assert set(figures()) == {
        "normal_trail_mm", "trail_mm", "front_contact_mm", "rear_contact_mm", "wheel_line_mm"
    }  # fmt: skip
    assert set(NEEDED_BY) == {field.name for field in fields(Handling)}


@pytest.mark.parametrize("missing", sorted(NEEDED_BY))
def test_a_missing_input_leaves_its_own_figures_out(missing: str) -> None:
    left = set(figures(replace(GIVEN, **{missing: None})))
    assert set(figures()) - left == NEEDED_BY[missing]


@pytest.mark.parametrize(
    ("missing", "lost"),
    [
        ("head_angle", {"normal_trail_mm", "trail_mm", "front_contact_mm", "wheel_line_mm"}),
        ("head_twist", {"front_contact_mm", "wheel_line_mm"}),
        ("axle_toe", {"rear_contact_mm", "wheel_line_mm"}),
        ("axle_offset", {"rear_contact_mm", "wheel_line_mm"}),
    ],
)
def test_a_missing_characteristic_leaves_its_own_figures_out(missing: str, lost: set[str]) -> None:
    known = {key: one for key, one in KNOWN.items() if key != missing}
    assert set(figures()) - set(handling.figures(known, GIVEN)) == lost
