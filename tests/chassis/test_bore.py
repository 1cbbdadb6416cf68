"""The bore beside the arcs: one estimate where they agree, both told where they do not."""

import math

import numpy as np
import pytest

from app.chassis.evaluate import evaluate
from tests.chassis.poses import Floats, Key, Pose, survey

POSE = Pose()
Points = list[tuple[Key, Floats]]


def bore(*heights: float, shift: tuple[float, float, float] = (0.0, 0.0, 0.0)) -> Points:
    """Points on the axis; the last one shifted."""
    places = [POSE.on_bore(height) for height in heights]
    places[-1] = places[-1] + np.array(shift)
    return [(("head_bore", f"b{k}", None), place) for k, place in enumerate(places)]


def test_bore_points_make_the_axis_better_known() -> None:
    without = evaluate(survey(POSE.points(), noise=0.1, seed=2), POSE.reference())
    joined = evaluate(survey(POSE.points() + bore(140.0, 4.0), noise=0.1, seed=2), POSE.reference())
    assert joined.warnings == ()
    assert joined.noise_check.degrees_of_freedom == 20
    for one, other in zip(joined.characteristics, without.characteristics, strict=True):
        assert one.standard_uncertainty <= other.standard_uncertainty


def test_a_bore_alone_is_an_axis() -> None:
    points = [p for p in POSE.points() if p[0][0] != "steer_target"]
    result = evaluate(survey(points + bore(140.0, 4.0)), POSE.reference())
    found = {item.key: item.value for item in result.characteristics}
    assert found["axis_distance"] == pytest.approx(POSE.distance, abs=1e-7)
    assert found["head_twist"] == pytest.approx(0.0, abs=1e-9)
    assert result.noise_check.verdict == "not_checked"
    assert result.warnings == ()


def test_a_bar_not_seated_is_told_and_decides_nothing_it_changes() -> None:
    """The low end 3 mm to the side: the bore's own axis is 1.26° twisted, the arcs' is not."""
    result = evaluate(
        survey(POSE.points() + bore(140.0, 4.0, shift=(0.0, 3.0, 0.0))), POSE.reference()
    )
    (warning,) = result.warnings
    assert (warning.code, warning.feature) == ("bore_and_arc_disagree", "head_bore")
    facts = {key: float(str(value)) for key, value in warning.facts}
    assert facts["twist_arc_deg"] == pytest.approx(0.0, abs=1e-7)
    assert facts["twist_bore_deg"] == pytest.approx(math.degrees(math.atan(3.0 / 136.0)), abs=1e-6)
    assert facts["angle_deg"] == pytest.approx(facts["twist_bore_deg"], abs=1e-6)
    assert facts["distance_mm"] == pytest.approx(1.5, abs=1e-6)
    assert facts["statistic"] > facts["limit"]
    verdicts = {item.key: item.verdict for item in result.characteristics}
    values = {item.key: item.value for item in result.characteristics}
    assert values["head_twist"] == pytest.approx(0.0, abs=1e-7)
    assert verdicts["head_twist"] == "undecided"
    assert verdicts["axis_distance"] == "within"
    assert result.noise_check.verdict == "as_claimed"


def test_one_bore_point_beside_the_axis_disagrees_too() -> None:
    result = evaluate(survey(POSE.points() + bore(4.0, shift=(0.0, 3.0, 0.0))), POSE.reference())
    assert [w.code for w in result.warnings] == ["bore_and_arc_disagree"]
    joined = evaluate(survey(POSE.points() + bore(4.0)), POSE.reference())
    assert joined.warnings == ()
    assert joined.noise_check.degrees_of_freedom == 18


def test_three_bore_points_give_the_run_out() -> None:
    """Off the line through all three: the middle of three even ones by two thirds of its shift."""
    points = bore(140.0, 4.0, 72.0, shift=(0.0, 0.06, 0.0))
    result = evaluate(survey(POSE.points() + points), POSE.reference())
    (runout,) = (c for c in result.characteristics if c.key == "bore_runout")
    assert runout.value == pytest.approx(0.04, abs=1e-6)
    assert runout.unit == "mm"
    assert runout.sense_code == "bore_off_line"
    expected = 0.1 * math.sqrt((2 / 3) ** 2 + 2 * (1 / 3) ** 2)
    assert runout.standard_uncertainty == pytest.approx(expected, rel=1e-6)
    assert runout.budget[0].source == "head_bore"
    assert runout.budget[0].share == pytest.approx(1.0, abs=1e-6)


def test_three_bore_points_in_one_spot_have_no_line() -> None:
    result = evaluate(survey(POSE.points() + bore(4.0, 4.0, 4.0)), POSE.reference())
    assert "bore_runout" not in {item.key for item in result.characteristics}
    assert result.finding.verdict == "within"
