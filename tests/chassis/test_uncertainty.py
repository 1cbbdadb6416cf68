"""Uncertainties: sources, replicates, noise, temperature, offsets."""

import math
from dataclasses import replace

import numpy as np
import pytest

from app.chassis.evaluate import evaluate
from app.chassis.result import Characteristic, Result
from app.chassis.survey import Instrument, Reference
from tests.chassis.poses import INSTRUMENT, Floats, Key, Pose, survey

POSE = Pose()


def item(result: Result, key: str) -> Characteristic:
    (found,) = (c for c in result.characteristics if c.key == key)
    return found


def shares(result: Result, key: str) -> dict[str, float]:
    return {share.source: share.share for share in item(result, key).budget}


def test_shares_of_a_budget_add_up_and_the_largest_comes_first() -> None:
    instrument = Instrument(0.1, 0.05, 50.0, 3.0)
    result = evaluate(survey(POSE.points(), instrument=instrument), POSE.reference())
    for characteristic in result.characteristics:
        parts = [share.share for share in characteristic.budget]
        if characteristic.set_by_levelling:
            assert parts == []
            continue
        assert sum(parts) == pytest.approx(1.0, abs=1e-12)
        assert parts == sorted(parts, reverse=True)
        assert min(parts) > 0.0
    assert set(shares(result, "face_position")) == {
        "pivot",
        "steer_target",
        "head_face",
        "face_squareness",
        "instrument_offset",
        "instrument_scale",
        "temperature",
    }
    assert set(shares(result, "pivot_width")) >= {"pivot_face", "pivot", "instrument_offset"}


def test_the_share_of_the_pivot_baseline_in_the_offset_is_as_the_design_says() -> None:
    """Points of 0.1 mm: about 0.40 mm at 260 mm, 0.22 mm at 500 mm; closed form by hand.

    The axis through two points tilts by sqrt(2) 0.1 / baseline; the offset follows at the lever
    between H and the mean of the faces' points, at (1, 13.5) mm.
    """
    for baseline, about in ((260.0, 0.40), (500.0, 0.22)):
        points = [
            (key, np.array([0.0, math.copysign(baseline / 2.0, xyz[1]), 0.0]))
            if key[0] == "pivot"
            else (key, xyz)
            for key, xyz in POSE.points()
        ]
        result = evaluate(survey(points), POSE.reference())
        offset = item(result, "head_offset")
        lever = math.hypot(POSE.reach - 1.0, POSE.height - 13.5)
        part = offset.standard_uncertainty**2 * shares(result, "head_offset")["pivot"]
        assert math.sqrt(part) == pytest.approx(lever * 0.1 * math.sqrt(2.0) / baseline, rel=1e-9)
        assert offset.standard_uncertainty == pytest.approx(about, abs=0.03)


def test_a_ball_left_uncorrected_moves_h_by_its_radius() -> None:
    """3 mm: along the steering axis, upward once corrected."""
    bare = survey(POSE.points(), instrument=replace(INSTRUMENT, probe_radius_mm=None))
    result = evaluate(bare, POSE.reference())
    assert [w.code for w in result.warnings] == ["probe_radius_unknown"] * 2
    corrected = evaluate(
        replace(bare, instrument=replace(INSTRUMENT, probe_radius_mm=3.0)), POSE.reference()
    )
    assert corrected.warnings == ()
    moved = item(corrected, "face_position").value - item(result, "face_position").value
    assert moved == pytest.approx(3.0, abs=1e-9)
    narrower = item(result, "pivot_width").value - item(corrected, "pivot_width").value
    assert narrower == pytest.approx(6.0, abs=1e-9)
    assert item(corrected, "head_offset").value == pytest.approx(0.0, abs=1e-7)


def test_a_stated_offset_goes_before_the_instruments() -> None:
    offset = np.full(17, np.nan)
    offset[4] = 5.0
    result = evaluate(
        survey(POSE.points(), instrument=replace(INSTRUMENT, probe_radius_mm=3.0), offset=offset),
        POSE.reference(),
    )
    assert item(result, "face_position").deviation == pytest.approx(5.0, abs=1e-7)
    assert item(result, "pivot_width").deviation == pytest.approx(-6.0, abs=1e-7)


def test_the_uncertainty_of_the_offsets_is_common_to_all() -> None:
    """Both faces move inward together: twice on the width, not at all on the middle."""
    instrument = Instrument(1e-6, 0.02, 0.0, 3.0)
    reference = replace(POSE.reference(), face_squareness_deg=0.0)
    cold = survey(POSE.points(), instrument=instrument, temperature=None)
    result = evaluate(cold, reference)
    assert item(result, "pivot_width").standard_uncertainty == pytest.approx(0.04, rel=1e-4)
    assert item(result, "face_position").standard_uncertainty == pytest.approx(0.02, rel=1e-2)
    assert item(result, "head_offset").standard_uncertainty < 1e-4


def test_the_scale_stretches_lengths_and_leaves_angles() -> None:
    instrument = Instrument(1e-6, 0.0, 100.0, 0.0)
    cold = survey(POSE.points(), instrument=instrument, temperature=None)
    result = evaluate(cold, POSE.reference())
    distance = item(result, "axis_distance")
    assert distance.standard_uncertainty == pytest.approx(distance.value * 1e-4, rel=1e-4)
    assert shares(result, "axis_distance")["instrument_scale"] > 0.999
    assert shares(result, "head_twist").get("instrument_scale", 0.0) < 1e-12


def test_levelling_sets_its_quantity_without_uncertainty_and_without_verdict() -> None:
    height = item(evaluate(survey(POSE.points()), POSE.reference()), "head_height")
    assert height.set_by_levelling
    assert height.standard_uncertainty == 0.0
    assert height.value == POSE.height
    assert height.verdict == "no_tolerance"
    by_angle = replace(POSE.reference(), levelling="by_angle")
    result = evaluate(survey(Pose(reach=650.0).points()), by_angle)
    angle = item(result, "head_angle")
    assert angle.set_by_levelling
    assert (angle.value, angle.standard_uncertainty) == (24.0, 0.0)
    assert angle.verdict == "no_tolerance"
    assert not item(result, "head_height").set_by_levelling
    assert "head_angle" not in result.finding.missing
    assert result.finding.required == 5


# Temperature.


def test_a_warm_steel_frame_is_scaled_to_twenty_degrees() -> None:
    """11.7e-6 a kelvin (Callister, table B.6): 30 degrees stretch 739 mm by 0.086 mm."""
    grown = 1.0 + 11.7e-6 * 10.0
    points = [(key, place * grown) for key, place in POSE.points()]
    result = evaluate(survey(points, temperature=30.0), POSE.reference())
    assert item(result, "axis_distance").deviation == pytest.approx(0.0, abs=1e-9)
    cold = evaluate(survey(points, temperature=20.0), POSE.reference())
    assert item(cold, "axis_distance").deviation == pytest.approx(0.0865, abs=1e-3)


def test_offsets_are_not_scaled() -> None:
    """The ball keeps its size: surface first grown, the centre 3 mm outside it."""
    grown = 1.0 + 11.7e-6 * 100.0
    points = [(key, place * grown) for key, place in POSE.points()]
    place = points[4][1] - 3.0 * POSE.up
    points[4] = (points[4][0], place)
    offset = np.full(17, 0.0)
    offset[4] = 3.0
    result = evaluate(survey(points, temperature=120.0, offset=offset), POSE.reference())
    left = 3.0 * (1.0 - 1.0 / grown)
    assert item(result, "face_position").deviation == pytest.approx(left, abs=1e-6)


def test_uncertainty_of_the_temperature_follows_part_and_ride_in() -> None:
    reference = POSE.reference()

    def u_thermal(u_k: float | None = None, after_ride_in: bool = False) -> float:
        measured = survey(POSE.points(), part_temperature_u_k=u_k, after_ride_in=after_ride_in)
        result = evaluate(measured, reference)
        distance = item(result, "axis_distance")
        part = shares(result, "axis_distance")["temperature"]
        return distance.standard_uncertainty * math.sqrt(part)

    kelvin = 11.7e-6 * POSE.distance
    assert u_thermal() == pytest.approx(1.0 * kelvin, rel=1e-6)
    assert u_thermal(3.0) == pytest.approx(3.0 * kelvin, rel=1e-6)
    assert u_thermal(None, True) == pytest.approx(2.0 * kelvin, rel=1e-6)
    assert u_thermal(0.5, True) == pytest.approx(2.0 * kelvin)


def test_uncertainty_of_the_coefficient_grows_with_the_way_from_twenty_degrees() -> None:
    """Square sum of 11.7e-6 times 1 K and 20 K times 1e-6."""
    result = evaluate(survey(POSE.points(), temperature=40.0), POSE.reference())
    distance = item(result, "axis_distance")
    part = shares(result, "axis_distance")["temperature"]
    expected = distance.value / (1.0 + 11.7e-6 * 20.0) * math.hypot(11.7e-6, 20e-6)
    assert distance.standard_uncertainty * math.sqrt(part) == pytest.approx(expected, rel=1e-6)


def test_what_is_not_known_of_the_temperature_is_said() -> None:
    reference = POSE.reference()
    assert [
        w.code for w in evaluate(survey(POSE.points(), temperature=None), reference).warnings
    ] == ["temperature_unknown"]
    unnamed = replace(reference, materials={})
    (warning,) = evaluate(survey(POSE.points()), unnamed).warnings
    assert (warning.code, dict(warning.facts)) == (
        "material_unknown",
        {"part": "frame", "material": None},
    )
    own = replace(reference, materials={}, expansion_per_k={"frame": (9e-6, 0.5e-6)})
    assert evaluate(survey(POSE.points()), own).warnings == ()
    scale = replace(INSTRUMENT, scale_expansion_per_k=8e-6)
    (warning,) = evaluate(survey(POSE.points(), instrument=scale), reference).warnings
    assert warning.code == "scale_temperature_unknown"


def test_a_scale_as_warm_as_the_part_and_of_the_same_metal_needs_no_scaling() -> None:
    scale = replace(INSTRUMENT, scale_expansion_per_k=11.7e-6, scale_temperature_c=35.0)
    result = evaluate(survey(POSE.points(), temperature=35.0, instrument=scale), POSE.reference())
    assert item(result, "axis_distance").deviation == pytest.approx(0.0, abs=1e-9)


# Replicates and noise.


def repeated(scatter: float, pairs: int, seed: int = 1) -> list[tuple[Key, Floats]]:
    """The 17 points with some target points measured twice, each with its own scatter."""
    rng = np.random.default_rng(seed)
    points = POSE.points()
    doubled = [key for key, _ in points if key[0] == "steer_target"][:pairs]
    again = [(key, xyz) for key, xyz in points if key in doubled]
    return [
        (key, xyz + rng.normal(0.0, scatter, 3) if key in doubled else xyz)
        for key, xyz in points + again
    ]


def test_scatter_of_replicates_replaces_the_claim_where_it_is_larger() -> None:
    result = evaluate(survey(repeated(0.6, 6)), POSE.reference())
    (warning,) = (w for w in result.warnings if w.code == "replicates_scatter")
    facts = dict(warning.facts)
    assert facts["degrees_of_freedom"] == 18.0
    assert facts["scatter_mm"] == pytest.approx(0.6, rel=0.4)
    twist = item(result, "head_twist")
    assert twist.degrees_of_freedom == pytest.approx(18.0, rel=1e-6)
    claimed = item(evaluate(survey(POSE.points()), POSE.reference()), "head_twist")
    assert twist.standard_uncertainty > 2.0 * claimed.standard_uncertainty
    assert twist.coverage_factor == pytest.approx(2.101, abs=1e-3)


def test_scatter_as_claimed_leaves_the_claim() -> None:
    result = evaluate(survey(repeated(0.1, 6)), POSE.reference())
    assert result.warnings == ()
    assert item(result, "head_twist").degrees_of_freedom is None


def test_one_pair_alone_is_no_evidence_but_joins_the_history() -> None:
    points = repeated(3.0, 1)
    alone = evaluate(survey(points), POSE.reference())
    assert "replicates_scatter" not in [w.code for w in alone.warnings]
    history = replace(INSTRUMENT, repeatability_mm=0.1, repeatability_degrees_of_freedom=30.0)
    with_history = evaluate(survey(points, instrument=history), POSE.reference())
    (warning,) = (w for w in with_history.warnings if w.code == "replicates_scatter")
    assert dict(warning.facts)["degrees_of_freedom"] == 33.0


def test_a_history_worse_than_the_claim_replaces_it_by_itself() -> None:
    history = replace(INSTRUMENT, repeatability_mm=0.3, repeatability_degrees_of_freedom=20.0)
    result = evaluate(survey(POSE.points(), instrument=history), POSE.reference())
    claimed = evaluate(
        survey(POSE.points(), instrument=replace(INSTRUMENT, standard_uncertainty_mm=0.3)),
        POSE.reference(),
    )
    for key in ("head_twist", "axis_distance"):
        assert item(result, key).standard_uncertainty == pytest.approx(
            item(claimed, key).standard_uncertainty, rel=1e-9
        )
    assert item(result, "head_twist").degrees_of_freedom == pytest.approx(20.0, rel=1e-6)
    known = replace(INSTRUMENT, repeatability_mm=0.3)
    unbounded = evaluate(survey(POSE.points(), instrument=known), POSE.reference())
    assert item(unbounded, "head_twist").degrees_of_freedom is None
    assert item(unbounded, "head_twist").standard_uncertainty == pytest.approx(
        item(claimed, "head_twist").standard_uncertainty, rel=1e-9
    )


def test_noise_beyond_the_limit_grows_uncertainties_by_the_birge_ratio() -> None:
    quiet = evaluate(survey(POSE.points(), noise=0.1, seed=4), POSE.reference())
    assert quiet.noise_check.verdict == "as_claimed"
    assert quiet.noise_check.degrees_of_freedom == 16
    assert quiet.noise_check.limit == pytest.approx(39.25, abs=0.01)
    loud = evaluate(survey(POSE.points(), noise=0.3, seed=4), POSE.reference())
    check = loud.noise_check
    assert check.verdict == "noisier"
    assert check.statistic is not None
    assert check.statistic == pytest.approx(9.0 * float(quiet.noise_check.statistic or 0), rel=0.02)
    ratio = math.sqrt(check.statistic / 16.0)
    (warning,) = loud.warnings
    assert warning.code == "noisier_than_claimed"
    assert dict(warning.facts)["birge_ratio"] == pytest.approx(ratio)
    twist = item(loud, "head_twist")
    assert twist.standard_uncertainty == pytest.approx(
        ratio * item(quiet, "head_twist").standard_uncertainty, rel=0.02
    )
    assert twist.degrees_of_freedom == pytest.approx(16.0, rel=1e-6)


def test_degrees_of_freedom_grow_where_known_sources_share_the_uncertainty() -> None:
    """Welch and Satterthwaite: the points' part s of the variance gives 16 / s²."""
    result = evaluate(survey(POSE.points(), noise=0.3, seed=4), POSE.reference())
    width = item(result, "pivot_width")
    known = shares(result, "pivot_width")
    points = known["pivot_face"] + known["pivot"]
    assert 0.5 < points < 0.99
    assert width.degrees_of_freedom == pytest.approx(16.0 / points**2, rel=1e-9)


def test_the_squareness_of_the_head_does_not_count_as_noise() -> None:
    """A single face point cannot tell scatter; nor can three on a tilted plane."""
    pose = Pose()
    tilted = []
    for azimuth in (0.0, 120.0, 240.0):
        place = pose.on_face(25.0, azimuth)
        tilted.append((("head_face", None, None), place + pose.up * 0.8 * math.cos(azimuth)))
    points = [p for p in pose.points() if p[0][0] != "head_face"] + tilted
    result = evaluate(survey(points), pose.reference())
    assert result.noise_check.degrees_of_freedom == 16
    assert result.noise_check.statistic == pytest.approx(0.0, abs=1e-9)


def test_nothing_redundant_nothing_checked() -> None:
    result = evaluate(survey(POSE.points()[:4]), POSE.reference())
    assert result.noise_check.verdict == "not_checked"
    assert result.noise_check.statistic is None


def test_a_known_spacing_of_the_targets_is_one_more_observation() -> None:
    length = float(np.linalg.norm(POSE.target("upper", 0.0) - POSE.target("lower", 0.0)))
    plain = evaluate(survey(POSE.points(), noise=0.1, seed=2), POSE.reference())
    spaced = evaluate(
        survey(
            POSE.points(), noise=0.1, seed=2, target_spacing=(("upper", "lower", length, 0.02),)
        ),
        POSE.reference(),
    )
    assert spaced.noise_check.degrees_of_freedom == 17
    assert (
        item(spaced, "head_twist").standard_uncertainty
        <= item(plain, "head_twist").standard_uncertainty
    )
    assert spaced.rig_check.degrees_of_freedom == 5


def test_an_isotropic_covariance_is_the_same_as_its_u() -> None:
    plain = evaluate(survey(POSE.points(), noise=0.1, seed=3), POSE.reference())
    matrices = {i: np.eye(3) * 0.01 for i in range(17)}
    given = evaluate(survey(POSE.points(), noise=0.1, seed=3, cov=matrices), POSE.reference())
    assert given.covariance == pytest.approx(plain.covariance, rel=1e-6, abs=1e-12)
    for one, other in zip(plain.characteristics, given.characteristics, strict=True):
        assert one.value == pytest.approx(other.value, rel=1e-9)


def test_a_reference_without_characteristics_gives_numbers_without_verdicts() -> None:
    result = evaluate(survey(POSE.points()), Reference())
    assert {c.verdict for c in result.characteristics} == {"no_tolerance"}
    assert result.finding.verdict == "undecided"
    assert result.finding.probability_all is None
    assert [w.code for w in result.warnings] == ["material_unknown", "levelling_missing"]
