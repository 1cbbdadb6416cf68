"""The turn about the pivot axis: rules, what cannot be levelled, and its derivatives."""

import math
from dataclasses import replace

import numpy as np
import pytest

from app.chassis.evaluate import evaluate
from app.chassis.levelling import level, nominal_distance, nominal_invariants
from app.chassis.result import Result
from app.chassis.survey import Reference, Tolerance
from tests.chassis.poses import Pose, survey

POSE = Pose()


def keys(result: Result) -> set[str]:
    return {item.key for item in result.characteristics}


def test_a_head_pushed_back_and_down_by_height() -> None:
    """10 mm back and 5 mm down: `by_height` turns the frame up until the height is nominal."""
    pushed = Pose(reach=630.0, height=375.0)
    result = evaluate(survey(pushed.points()), POSE.reference())
    found = {item.key: item.value for item in result.characteristics}
    radius = math.hypot(630.0, 375.0)
    turn = math.asin(380.0 / radius) - math.atan2(375.0, 630.0)
    assert found["head_height"] == 380.0
    assert found["head_reach"] == pytest.approx(math.sqrt(radius**2 - 380.0**2), abs=1e-7)
    assert found["head_angle"] == pytest.approx(24.0 + math.degrees(turn), abs=1e-9)
    assert result.levelling == "by_height"
    assert result.outline.levelled


def test_by_angle_the_head_angle_is_nominal() -> None:
    pushed = Pose(reach=630.0, height=375.0, angle=25.0)
    result = evaluate(survey(pushed.points()), replace(POSE.reference(), levelling="by_angle"))
    found = {item.key: item for item in result.characteristics}
    e = math.radians(24.0)
    reach = pushed.distance * math.cos(e) - pushed.position * math.sin(e)
    height = pushed.distance * math.sin(e) + pushed.position * math.cos(e)
    assert found["head_angle"].value == 24.0
    assert found["head_reach"].value == pytest.approx(reach, abs=1e-7)
    assert found["head_height"].value == pytest.approx(height, abs=1e-7)


@pytest.mark.parametrize("rule", ["by_height", "by_angle"])
@pytest.mark.parametrize(("distance", "position"), [(739.0, 86.0), (600.0, -40.0), (500.0, 300.0)])
def test_derivatives_by_distance_and_position(rule: str, distance: float, position: float) -> None:
    reference = replace(POSE.reference(), levelling=rule)

    def numbers(d: float, h: float) -> np.ndarray:
        found, warnings = level(reference, d, h)
        assert warnings == []
        assert found is not None
        return np.array([found.reach, found.height, found.angle])

    found, _ = level(reference, distance, position)
    assert found is not None
    step = 1e-4
    by_d = (numbers(distance + step, position) - numbers(distance - step, position)) / (2 * step)
    by_h = (numbers(distance, position + step) - numbers(distance, position - step)) / (2 * step)
    assert np.array(found.slopes) == pytest.approx(np.array([by_d, by_h]).T, abs=1e-8)


def test_a_head_nearer_than_its_nominal_height_cannot_be_levelled() -> None:
    reference = POSE.reference(head_height=Tolerance(760.0))
    result = evaluate(survey(POSE.points()), reference)
    (warning,) = result.warnings
    assert warning.code == "levelling_impossible"
    facts = dict(warning.facts)
    assert facts["distance_mm"] == pytest.approx(math.hypot(640.0, 380.0))
    assert (facts["nominal_mm"], facts["elevation_deg"]) == (760.0, None)
    assert keys(result) == {
        "head_twist",
        "head_offset",
        "axis_distance",
        "face_position",
        "pivot_width",
    }
    assert result.levelling is None
    assert not result.outline.levelled
    assert result.finding.missing == ("head_angle",)


def test_a_head_over_sixty_degrees_above_the_pivot_cannot_be_levelled() -> None:
    reference = POSE.reference(head_height=Tolerance(700.0))
    (warning,) = evaluate(survey(POSE.points()), reference).warnings
    assert warning.code == "levelling_impossible"
    elevation = dict(warning.facts)["elevation_deg"]
    assert elevation == pytest.approx(math.degrees(math.asin(700.0 / math.hypot(640.0, 380.0))))


@pytest.mark.parametrize(
    ("reference", "facts"),
    [
        (replace(POSE.reference(), levelling=None), {"rule": None, "needed": "rule"}),
        (POSE.reference(head_height=None), {"rule": "by_height", "needed": "nominal"}),
        (POSE.reference(head_height=Tolerance()), {"rule": "by_height", "needed": "nominal"}),
    ],
)
def test_without_a_rule_or_its_nominal_nothing_is_levelled(
    reference: Reference, facts: dict[str, str | None]
) -> None:
    result = evaluate(survey(POSE.points()), reference)
    (warning,) = result.warnings
    assert (warning.code, dict(warning.facts)) == ("levelling_missing", facts)
    assert not keys(result) & {"head_reach", "head_height", "head_angle"}


@pytest.mark.parametrize(("rule", "needed"), [("by_control", "control"), ("by_line", "level_line")])
def test_rules_whose_points_are_missing_level_nothing(rule: str, needed: str) -> None:
    result = evaluate(survey(POSE.points()), replace(POSE.reference(), levelling=rule))
    (warning,) = result.warnings
    assert (warning.code, dict(warning.facts)) == (
        "levelling_missing",
        {"rule": rule, "needed": needed},
    )
    assert "axis_distance" in keys(result)


def test_nominal_invariants_from_reach_height_and_angle() -> None:
    """d = reach cos e + height sin e, h = height cos e - reach sin e."""
    known = {
        "head_reach": Tolerance(640.0),
        "head_height": Tolerance(380.0),
        "head_angle": Tolerance(24.0),
    }
    distance, position = nominal_invariants(known)
    assert distance == pytest.approx(POSE.distance)
    assert position == pytest.approx(POSE.position)
    assert nominal_distance(known) == pytest.approx(math.hypot(640.0, 380.0))
    assert (
        nominal_distance({"head_reach": Tolerance(300.0), "head_height": Tolerance(400.0)}) == 500
    )
    assert nominal_distance({"head_reach": Tolerance(300.0)}) is None
    assert nominal_invariants({}) == (None, None)


def test_the_nominal_outline_is_left_out_where_nominals_do_not_suffice() -> None:
    bare = Reference({"head_height": Tolerance(380.0)}, "by_height", materials={"frame": "steel"})
    result = evaluate(survey(POSE.points()), bare)
    assert result.outline.levelled
    assert result.outline.reference == ()
    assert result.outline.measured
