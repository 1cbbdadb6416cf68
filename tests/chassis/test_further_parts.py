"""Surveys that go beyond the head: parts of them, and what is refused or told of them."""

from dataclasses import replace

import numpy as np
import pytest

from app.chassis.evaluate import evaluate
from app.chassis.survey import Survey, Tolerance
from app.demonstration.extent import EVERY, Extent
from app.demonstration.machine import SOUND, Arm
from app.demonstration.machine_survey import measure
from app.errors import Refusal
from tests.chassis.seen_again import in_order
from tests.chassis.whole_surveys import found, only, reference, taken


def test_an_arm_and_a_tail_alone_work_once_the_datum_is_there() -> None:
    survey = taken(Extent(features=EVERY))
    arm = evaluate(only(survey, {"pivot", "pivot_face", "rear_axle", "axle_face"}), reference())
    assert set(found(arm)) == {
        "pivot_width", "arm_length", "axle_toe", "axle_twist", "axle_offset",
    }  # fmt: skip
    assert arm.rig_check.scope in ("datum_only", "none")
    assert arm.orientation == "checked"
    tail = evaluate(only(survey, {"pivot", "pivot_face", "control", "pair"}), reference())
    assert {"pair_roll.tail", "control.seat_rear.z", "datum_roll"} < set(found(tail))
    assert tail.levelling == "by_control"
    assert tail.orientation == "checked"


def test_a_hanging_arm_cannot_tell_up_and_says_so() -> None:
    hanging = replace(SOUND, arm=Arm(droop_deg=88.0))
    survey = measure(hanging, Extent(features=("rear_axle", "axle_face")), np.random.default_rng(1))
    arm = only(survey.survey, {"pivot", "pivot_face", "rear_axle", "axle_face"})
    result = evaluate(arm, reference())
    assert result.orientation == "not_checked"
    assert "orientation_not_checked" in {caveat.code for caveat in result.warnings}


def test_up_the_wrong_way_is_refused_for_an_arm_and_a_tail() -> None:
    survey = taken(Extent(features=EVERY))
    assert survey.up is not None
    x, y, z = survey.up
    for features in ({"rear_axle", "axle_face"}, {"control", "pair"}):
        part = replace(only(survey, {"pivot", "pivot_face", *features}), up=(-x, -y, -z))
        with pytest.raises(Refusal) as refusal:
            evaluate(part, reference())
        assert refusal.value.code == "left_right_or_mirrored"


@pytest.mark.parametrize(
    ("feature", "label", "kept", "needed"),
    [("rear_axle", None, 1, 2), ("fork_leg", "left", 1, 2), ("rear_rim", "right", 2, 3)],
)
def test_too_few_points_of_a_feature_are_named(
    feature: str, label: str | None, kept: int, needed: int
) -> None:
    survey = taken(Extent(features=EVERY))
    own = [
        i
        for i, (name, said) in enumerate(zip(survey.feature, survey.label, strict=True))
        if name == feature and (label is None or said == label)
    ]
    names = tuple("control" if i in own[kept:] else name for i, name in enumerate(survey.feature))
    labels = tuple(f"spare_{i}" if i in own[kept:] else name for i, name in enumerate(survey.label))
    part = replace(
        survey,
        feature=names,
        label=labels,
        offset=np.full(len(names), np.nan),
        station=(tuple(None if i in own[kept:] else s for i, s in enumerate(survey.station))),
    )
    with pytest.raises(Refusal) as refusal:
        evaluate(part, reference())
    assert (refusal.value.code, refusal.value.feature) == ("too_few_points", feature)
    assert (refusal.value.facts["met"], refusal.value.facts["needed"]) == (kept, needed)


def test_points_of_a_line_that_coincide_are_refused() -> None:
    survey = taken(Extent(features=("rear_axle",)))
    xyz = survey.xyz.copy()
    places = [i for i, name in enumerate(survey.feature) if name == "rear_axle"]
    xyz[places] = xyz[places[0]]
    label = tuple(None if i in places else name for i, name in enumerate(survey.label))
    with pytest.raises(Refusal) as refusal:
        evaluate(replace(survey, xyz=xyz, label=label), reference())
    assert (refusal.value.code, refusal.value.feature) == ("coincident_points", "rear_axle")


def test_half_a_pair_is_told() -> None:
    survey = taken(Extent(features=("pair",)))
    kept = [i for i, name in enumerate(survey.label) if name != "tail.left"]
    result = evaluate(in_order(survey, kept), reference())
    (said,) = [c for c in result.warnings if c.code == "pair_incomplete"]
    assert dict(said.facts) == {"label": "tail", "side": "left"}
    assert {key for key in found(result) if key.startswith("pair")} == {"pair_offset.rest"}


def test_chain_adjusters_belong_to_the_survey() -> None:
    survey = taken(Extent(features=("rear_axle", "axle_face")))
    said = {caveat.code for caveat in evaluate(survey, reference()).warnings}
    assert "chain_adjusters_missing" not in said
    silent = replace(survey, chain_adjusters={})
    said = {caveat.code for caveat in evaluate(silent, reference()).warnings}
    assert "chain_adjusters_missing" in said


@pytest.mark.parametrize("levelling", ["by_control", "by_line", "by_height", "by_angle", None])
def test_the_datum_alone_is_answered_under_every_rule(levelling: str | None) -> None:
    survey = taken(Extent(features=EVERY))
    rule = replace(reference(), levelling=levelling)
    whole = evaluate(only(survey, {"pivot", "pivot_face"}), rule)
    assert set(found(whole)) == {"pivot_width"}
    bare = evaluate(only(survey, {"pivot"}), rule)
    assert found(bare) == {}
    assert bare.covariance.shape == (0, 0)
    assert bare.finding.verdict == "undecided"


def with_a_wrong_replicate(survey: Survey, by_mm: float) -> Survey:
    """One of the measured points of the pair `tail`, on the left, lies elsewhere."""
    xyz = survey.xyz.copy()
    named = zip(survey.feature, survey.label, strict=True)
    xyz[next(i for i, name in enumerate(named) if name == ("pair", "tail.left"))] += by_mm
    return replace(survey, xyz=xyz)


def test_one_wrong_replicate_is_named_and_nothing_is_decided_by_it() -> None:
    limits = {key: Tolerance(0.0, -2.0, 2.0) for key in ("pair_skew.tail", "pair_skew.rest")}
    survey = taken(Extent(features=EVERY, replicates=3))
    result = evaluate(with_a_wrong_replicate(survey, 4.0), reference(limits=limits))
    named = [dict(c.facts)["label"] for c in result.warnings if c.code == "points_disagree"]
    assert named == ["tail.left"]
    assert result.noise_check.verdict == "noisier"
    assert "replicates_scatter" not in {caveat.code for caveat in result.warnings}
    assert found(result)["pair_skew.tail"].verdict == "undecided"
    with pytest.raises(Refusal) as refusal:
        evaluate(with_a_wrong_replicate(survey, 60.0), reference(limits=limits))
    assert (refusal.value.code, refusal.value.feature) == ("points_disagree", "pair")
    assert refusal.value.facts["label"] == "tail.left"


def test_exchanged_ends_and_sides_are_refused_by_name() -> None:
    survey = taken(Extent(features=EVERY))
    other = {"rear": "front", "front": "rear"}
    label = tuple(other.get(name or "", name) for name in survey.label)
    with pytest.raises(Refusal) as refusal:
        evaluate(replace(survey, label=label), reference("by_line"))
    assert (refusal.value.code, refusal.value.feature) == ("levelling_not_determined", "level_line")
    assert refusal.value.facts["reason"] == "reversed"
    sides = {"left": "right", "right": "left"}
    label = tuple(
        f"{name.rpartition('_')[0]}_{sides[name.rpartition('_')[2]]}"
        if feature == "control" and name is not None and name.rpartition("_")[2] in sides
        else name
        for feature, name in zip(survey.feature, survey.label, strict=True)
    )
    with pytest.raises(Refusal) as refusal:
        evaluate(replace(survey, label=label), reference())
    assert (refusal.value.code, refusal.value.feature) == ("left_right_or_mirrored", "control")


def test_points_that_stand_in_one_place_are_refused_by_name() -> None:
    survey = taken(Extent(features=EVERY))
    xyz = survey.xyz.copy()
    places = {name: i for i, name in enumerate(survey.label) if survey.feature[i] == "control"}
    xyz[places["engine_front_left"]] = xyz[places["engine_rear_right"]]
    listed = {"distance.engine_front_left.engine_rear_right": Tolerance(400.0)}
    with pytest.raises(Refusal) as refusal:
        evaluate(replace(survey, xyz=xyz), replace(reference("by_height", listed)))
    assert (refusal.value.code, refusal.value.feature) == ("coincident_points", "control")
    xyz = survey.xyz.copy()
    legs = [i for i, name in enumerate(survey.feature) if name == "fork_leg"]
    left = [i for i in legs if survey.label[i] == "left"]
    right = [i for i in legs if survey.label[i] == "right"]
    xyz[left] = xyz[right]
    with pytest.raises(Refusal) as refusal:
        evaluate(replace(survey, xyz=xyz), reference())
    assert refusal.value.feature == "fork_leg"
