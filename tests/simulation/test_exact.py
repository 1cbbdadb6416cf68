"""Surveys without any error: the engine finds what is true, and leaves out what it cannot know."""

from dataclasses import replace

import numpy as np
import pytest

from app.chassis.evaluate import evaluate
from app.chassis.survey import Survey
from app.demonstration.extent import EVERY, Extent, Warmth
from app.demonstration.machine_survey import measure
from app.demonstration.machine_truth import Terms, true_values
from tests.demonstration.machines import BENT, EXACT, PLAIN, QUIET
from tests.simulation.ideal import reference_of
from tests.simulation.machines import BY_ANGLE, BY_CONTROL, BY_HEIGHT, BY_LINE, WIDTHS

RULES = (BY_CONTROL, BY_LINE, BY_HEIGHT, BY_ANGLE)
HEAD = {"head_twist", "head_offset", "axis_distance", "face_position", "pivot_width"}
LEVELLED = {"head_reach", "head_height", "head_angle"}
NO_STEERING = replace(QUIET, targets=(), head_face_points=0)
AT_MM_OR_DEG = 1e-7


def exact(extent: Extent, seed: int = 3) -> Survey:
    """With an uncertainty that it does not need."""
    found = measure(BENT, extent, np.random.default_rng(seed)).survey
    return replace(found, u=np.full(len(found.feature), 0.1))


def found_in(extent: Extent, terms: Terms) -> dict[str, float]:
    result = evaluate(exact(extent), replace(reference_of(terms), rim_width_mm=WIDTHS))
    return {item.key: item.value for item in result.characteristics}


def true_in(extent: Extent, terms: Terms) -> dict[str, float]:
    made = measure(BENT, extent, np.random.default_rng(3))
    return true_values(BENT, terms, made.session)


@pytest.mark.parametrize("terms", RULES, ids=[str(terms.levelling) for terms in RULES])
def test_every_characteristic_of_an_exact_survey_is_the_true_one(terms: Terms) -> None:
    found, true = found_in(EXACT, terms), true_in(EXACT, terms)
    assert found == pytest.approx(true, abs=AT_MM_OR_DEG)


def test_more_points_and_returns_change_nothing() -> None:
    extent = replace(
        EXACT,
        replicates=2,
        axis_points=4,
        axle_mm=(160.0, 20.0, -150.0),
        axle_face_points=4,
        rim_points=5,
        half_turn=True,
        returned=tuple(feature for feature in EVERY if feature != "fork_leg"),
    )
    found = found_in(extent, BY_CONTROL)
    shapes = set(found) - set(true_in(extent, BY_CONTROL))
    assert not shapes
    assert found == pytest.approx(true_in(extent, BY_CONTROL), abs=AT_MM_OR_DEG)


@pytest.mark.parametrize("edge", ["left", "right"])
def test_one_edge_of_a_rim_does_when_its_width_is_known(edge: str) -> None:
    extent = replace(EXACT, edges=(edge,))
    assert found_in(extent, BY_LINE) == pytest.approx(true_in(extent, BY_LINE), abs=AT_MM_OR_DEG)
    unknown = evaluate(exact(extent), reference_of(BY_LINE))
    keys = {item.key for item in unknown.characteristics}
    assert {"wheel_lean", "front_wheel_lean"} <= keys
    assert not {"wheel_track", "front_wheel_offset"} & keys


def test_warm_parts_of_one_material_are_as_long_as_at_20_degrees() -> None:
    extent = replace(EXACT, warmth=Warmth(41.0, 0.0, per_k={"frame": (11.7e-6, 0.0)}))
    reference = replace(reference_of(BY_CONTROL), materials={"frame": "steel"})
    result = evaluate(exact(extent), reference)
    found = {item.key: item.value for item in result.characteristics}
    assert found == pytest.approx(true_in(extent, BY_CONTROL), abs=AT_MM_OR_DEG)


PARTIAL = {
    "arm": (("rear_axle", "axle_face"), Terms(), {"arm_", "axle_", "pivot_width"}),
    "tail": (
        ("pair", "control", "level_line"),
        BY_LINE,
        {"pair_", "control.", "datum_", "distance.", "pivot_width"},
    ),
    "tail_not_level": (("pair",), Terms(), {"pair_offset.", "pivot_width"}),
    "fork": (("fork_leg",), Terms(), {"fork_s", "fork_cross", "pivot_width"}),
    "axes": (("axis", "level_line"), BY_LINE, {"axis_t", "pivot_width"}),
    "rims": (("front_rim", "rear_rim"), BY_LINE, {"pivot_width"}),
}


@pytest.mark.parametrize("part", PARTIAL)
def test_what_a_survey_lacks_leaves_its_characteristics_out(part: str) -> None:
    """Each part alone, once the datum is there."""
    features, terms, prefixes = PARTIAL[part]
    extent = replace(EXACT, rig=NO_STEERING, features=features)
    true = true_in(extent, terms)
    expected = {
        key: value
        for key, value in true.items()
        if key.startswith(tuple(prefixes)) and key not in LEVELLED
    }
    assert found_in(extent, terms) == pytest.approx(expected, abs=AT_MM_OR_DEG)


def test_a_head_alone_is_as_before() -> None:
    found = found_in(replace(EXACT, features=()), BY_HEIGHT)
    assert set(found) == HEAD | LEVELLED
    true = true_values(PLAIN, BY_HEIGHT)
    assert found == pytest.approx({key: true[key] for key in found}, abs=AT_MM_OR_DEG)
