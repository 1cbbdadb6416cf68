"""Each refusal: its code, its feature, and the numbers that were met and needed."""

import math
from dataclasses import replace

import numpy as np
import pytest

from app.chassis.evaluate import evaluate
from app.chassis.survey import Instrument, Options, Reference, Survey, Tolerance
from app.errors import Refusal
from tests.chassis.poses import INSTRUMENT, Floats, Key, Pose, survey

POSE = Pose()
Points = list[tuple[Key, Floats]]


def refused(measured: Survey, reference: Reference | None = None) -> Refusal:
    with pytest.raises(Refusal) as caught:
        evaluate(measured, reference or POSE.reference())
    return caught.value


def only(*features: str) -> Points:
    return [point for point in POSE.points() if point[0][0] in features]


def stations(*names: str) -> Points:
    return [p for p in POSE.points() if p[0][0] != "steer_target" or p[0][2] in names]


def test_a_coordinate_that_is_no_number() -> None:
    for value in (math.nan, math.inf, -math.inf):
        measured = survey(POSE.points())
        measured.xyz[6, 1] = value
        refusal = refused(measured)
        assert (refusal.code, refusal.feature) == ("not_finite", "steer_target")
        assert refusal.facts["point"] == 7
        assert refusal.facts["what"] == "xyz"


@pytest.mark.parametrize(
    ("changed", "what"),
    [
        ({"u": np.full(17, math.inf)}, "u"),
        ({"offset": np.full(17, math.inf)}, "offset"),
        ({"up": (0.0, math.nan, 1.0)}, "up"),
        ({"cov": {3: np.full((3, 3), math.nan)}}, "cov"),
        ({"target_spacing": (("upper", "lower", math.nan, 0.1),)}, "spacing"),
        ({"instrument": replace(INSTRUMENT, scale_u_ppm=math.nan)}, "instrument"),
        ({"part_temperature_c": math.inf}, "instrument"),
    ],
)
def test_any_other_number_that_is_none(changed: dict[str, object], what: str) -> None:
    measured: Survey = replace(survey(POSE.points()), **changed)  # type: ignore[arg-type]
    refusal = refused(measured)
    assert refusal.code == "not_finite"
    assert refusal.facts["what"] == what


def test_a_reference_with_a_number_that_is_none() -> None:
    reference = POSE.reference(head_twist=Tolerance(0.0, -0.3, math.nan))
    refusal = refused(survey(POSE.points()), reference)
    assert (refusal.code, refusal.feature) == ("not_finite", "head_twist")


def test_coordinates_beyond_any_shop() -> None:
    measured = survey(POSE.points())
    measured.xyz[0, 0] = 1e200
    refusal = refused(measured)
    assert refusal.code == "implausible_size"
    assert refusal.facts["distance_mm"] == 1e200


def test_an_unknown_feature() -> None:
    points: Points = [*POSE.points(), (("steering_lock", None, None), np.zeros(3))]
    refusal = refused(survey(points))
    assert (refusal.code, refusal.feature) == ("unknown_feature", "steering_lock")
    assert refusal.facts["point"] == 18
    assert "steer_target" in tuple(refusal.facts["known"])  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("instrument", "u", "what"),
    [
        (Instrument(), math.nan, "none"),
        (INSTRUMENT, 0.0, "not_positive"),
        (INSTRUMENT, -0.1, "not_positive"),
        (Instrument(0.0), math.nan, "not_positive"),
    ],
)
def test_a_point_without_uncertainty(instrument: Instrument, u: float, what: str) -> None:
    measured = survey(POSE.points(), instrument=instrument)
    measured.u[2] = u
    if math.isnan(u):
        measured.u[:2] = 0.1
    refusal = refused(measured)
    assert (refusal.code, refusal.feature) == ("no_uncertainty", "pivot_face")
    assert (refusal.facts["point"], refusal.facts["what"]) == (3, what)


def test_a_covariance_that_is_none() -> None:
    flat = np.diag([0.01, 0.01, 0.0])
    refusal = refused(survey(POSE.points(), cov={5: flat}))
    assert (refusal.code, refusal.facts["what"]) == ("no_uncertainty", "not_definite")
    assert refusal.facts["point"] == 6


def test_an_offset_where_there_is_no_normal() -> None:
    offset = np.full(17, math.nan)
    offset[5] = 3.0
    refusal = refused(survey(POSE.points(), offset=offset))
    assert (refusal.code, refusal.feature) == ("offset_without_normal", "steer_target")
    assert (refusal.facts["point"], refusal.facts["offset_mm"]) == (6, 3.0)
    offset[5] = 0.0
    assert evaluate(survey(POSE.points(), offset=offset), POSE.reference()).warnings == ()


def test_an_offset_into_the_metal() -> None:
    offset = np.full(17, math.nan)
    offset[4] = -3.0
    refusal = refused(survey(POSE.points(), offset=offset))
    assert (refusal.code, refusal.feature) == ("offset_negative", "head_face")


@pytest.mark.parametrize(
    ("key", "code", "needed"),
    [
        (("steer_target", None, "s1"), "label_missing", ("name",)),
        (("pivot_face", None, None), "label_missing", ("left", "right")),
        (("pivot_face", "top", None), "label_missing", ("left", "right")),
        (("steer_target", "upper", None), "station_missing", None),
    ],
)
def test_a_point_without_its_name(key: Key, code: str, needed: tuple[str, ...] | None) -> None:
    refusal = refused(survey([*POSE.points(), (key, np.zeros(3))]))
    assert (refusal.code, refusal.feature) == (code, key[0])
    assert refusal.facts["point"] == 18
    if needed:
        assert refusal.facts["needed"] == needed


def test_turns_that_are_none_or_contradict() -> None:
    measured = survey(POSE.points())
    turns: list[str | None] = [None] * 17
    turns[5] = "up"
    refusal = refused(replace(measured, turn=tuple(turns)))
    assert (refusal.code, refusal.facts["met"]) == ("unknown_turn", "up")
    turns[5], turns[6] = "left", "right"
    refusal = refused(replace(measured, turn=tuple(turns)))
    assert (refusal.code, refusal.facts["station"]) == ("turn_contradicts", "s1")


def test_too_few_pivot_points() -> None:
    refusal = refused(survey(POSE.points()[1:]))
    assert (refusal.code, refusal.feature) == ("too_few_points", "pivot")
    assert (refusal.facts["met"], refusal.facts["needed"]) == (1, 2)


def test_pivot_points_that_coincide() -> None:
    points = POSE.points()
    points[0] = (points[0][0], points[1][1] + np.array([0.0, 3.1, 0.0]))
    refusal = refused(survey(points))
    assert (refusal.code, refusal.feature) == ("coincident_points", "pivot")
    assert refusal.facts["distance_mm"] == pytest.approx(3.1)
    assert refusal.facts["needed_mm"] == pytest.approx(5.0)


def test_one_target_entered_as_two() -> None:
    twice = [((f, "lower", s), x) for (f, _, s), x in POSE.points() if s and f == "steer_target"]
    points = [p for p in POSE.points() if p[0][1] != "lower"] + twice[::2]
    refusal = refused(survey(points))
    assert (refusal.code, refusal.feature) == ("coincident_points", "steer_target")
    assert refusal.facts["label"] == "upper, lower"


def test_nobody_says_which_side_is_left() -> None:
    points = [
        ((f, None if f == "pivot" else label, s), x)
        for (f, label, s), x in POSE.points()
        if f != "pivot_face"
    ]
    assert refused(survey(points)).code == "left_unknown"


def test_two_stations_only() -> None:
    refusal = refused(survey(stations("s1", "s2")))
    assert (refusal.code, refusal.feature) == ("too_few_stations", "steer_target")
    assert (refusal.facts["met"], refusal.facts["needed"]) == (2, 3)
    assert refused(survey(stations("s1", "s2", "return"))).code == "too_few_stations"


def test_two_stations_suffice_with_two_bore_points() -> None:
    bore: Points = [
        (("head_bore", "high", None), POSE.on_bore(140.0)),
        (("head_bore", "low", None), POSE.on_bore(4.0)),
    ]
    result = evaluate(survey(stations("s1", "s2") + bore), POSE.reference())
    assert result.warnings == ()
    (distance,) = (c.value for c in result.characteristics if c.key == "axis_distance")
    assert distance == pytest.approx(POSE.distance, abs=1e-7)


def test_a_face_without_an_axis() -> None:
    refusal = refused(survey(only("pivot", "pivot_face", "head_face")))
    assert (refusal.code, refusal.feature) == ("axis_not_determined", "head_face")
    assert (refusal.facts["observations"], refusal.facts["unknowns"]) == (0, 4)


def test_one_bore_point_alone() -> None:
    bore: Points = [(("head_bore", "low", None), POSE.on_bore(4.0))]
    refusal = refused(survey(only("pivot", "pivot_face", "head_face") + bore))
    assert (refusal.code, refusal.feature) == ("too_few_points", "head_bore")
    again: Points = [(("head_bore", "low", None), POSE.on_bore(5.0))]
    refusal = refused(survey(only("pivot", "pivot_face", "head_face") + bore + again))
    assert (refusal.code, refusal.feature) == ("coincident_points", "head_bore")
    assert refusal.facts["distance_mm"] == pytest.approx(1.0)


def test_every_target_at_its_own_station() -> None:
    alone = {("upper", "s1"), ("lower", "s2"), ("third", "s3")}
    pose = Pose(targets={**POSE.targets, "third": (70.0, 0.0, 0.0)})
    points = [p for p in pose.points() if p[0][0] != "steer_target" or (p[0][1], p[0][2]) in alone]
    refusal = refused(survey(points))
    assert (refusal.code, refusal.feature) == ("axis_not_determined", "steer_target")
    assert refusal.facts["reason"] == "counts"
    assert (refusal.facts["observations"], refusal.facts["unknowns"]) == (9, 13)


def test_more_unknowns_than_observations() -> None:
    """One target at two stations, another at a third: 6 observations, 4 + 3 + 1 unknowns."""
    seen = {("upper", "s1"), ("upper", "s2"), ("lower", "s3")}
    points = [p for p in POSE.points() if p[0][0] != "steer_target" or (p[0][1], p[0][2]) in seen]
    refusal = refused(survey(points))
    assert (refusal.code, refusal.feature) == ("axis_not_determined", "steer_target")
    assert refusal.facts["reason"] in ("counts", "condition")


def test_targets_that_move_along_one_line() -> None:
    points: Points = only("pivot", "pivot_face", "head_face")
    points += [
        (("steer_target", "upper", f"s{k}"), np.array([640.0, 40.0 * k, 400.0])) for k in range(4)
    ]
    refusal = refused(survey(points))
    assert (refusal.code, refusal.feature) == ("axis_not_determined", "steer_target")
    assert refusal.facts["reason"] == "condition"
    met = refusal.facts["reciprocal_condition"]
    assert isinstance(met, float)
    assert met < 1e-8


def test_a_target_that_hardly_moves() -> None:
    """The example of the house style: 3.1 mm met, 5.0 mm needed."""
    angle = math.degrees(2.0 * math.asin(3.1 / 2.0 / 85.0))
    pose = Pose(stations={"s1": 0.0, "s2": angle, "s3": angle / 2.0}, returns={})
    refusal = refused(survey(pose.points()))
    assert (refusal.code, refusal.feature) == ("steering_hardly_turned", "steer_target")
    assert (refusal.facts["target"], refusal.facts["reason"]) == ("lower", "moves")
    assert refusal.facts["met_mm"] == pytest.approx(3.1, abs=1e-9)
    assert refusal.facts["needed_mm"] == pytest.approx(5.0)


def test_a_target_close_to_the_axis() -> None:
    pose = Pose(targets={"upper": (90.0, -40.0, 60.0), "near": (15.0, 50.0, -140.0)})
    refusal = refused(survey(pose.points()))
    assert (refusal.code, refusal.facts["reason"]) == ("steering_hardly_turned", "radius_small")
    assert refusal.facts["met_mm"] == pytest.approx(15.0, abs=1e-6)
    assert refusal.facts["needed_mm"] == 20.0


def test_a_target_on_too_long_an_arm() -> None:
    pose = Pose(targets={"upper": (90.0, -40.0, 60.0), "far": (1600.0, 50.0, -140.0)})
    refusal = refused(survey(pose.points()))
    assert (refusal.code, refusal.facts["reason"]) == ("steering_hardly_turned", "radius_large")
    assert refusal.facts["target"] == "far"


def small_turn(degrees: float, u: float, targets: int = 1) -> Survey:
    names = dict(list(POSE.targets.items())[:targets])
    turned = {"s1": -degrees, "s2": 0.0, "s3": degrees, "s4": degrees / 2}
    pose = Pose(targets=names, stations=turned, returns={})
    instrument = replace(INSTRUMENT, standard_uncertainty_mm=u)
    return survey(pose.points(), instrument=instrument)


def test_a_radius_that_is_hardly_known() -> None:
    refusal = refused(small_turn(5.0, 0.1))
    assert (refusal.code, refusal.facts["reason"]) == ("steering_hardly_turned", "radius_uncertain")
    met = refusal.facts["met_ratio"]
    assert isinstance(met, float)
    assert 0.2 < met < 1.0
    assert refusal.facts["needed_ratio"] == 0.2


def test_an_axis_whose_tilt_is_hardly_known() -> None:
    """One target alone, tilted freely about its chord."""
    refusal = refused(small_turn(12.0, 0.1))
    assert (refusal.code, refusal.facts["reason"], refusal.facts["target"]) == (
        "steering_hardly_turned",
        "tilt",
        None,
    )
    met = refusal.facts["met_deg"]
    assert isinstance(met, float)
    assert 2.0 < met < 4.0


def test_between_a_tenth_and_a_fifth_first_order_does_not_decide() -> None:
    """Two targets stacked 500 mm apart: the tilt is well known, the radius is not."""
    pose = Pose(
        targets={"upper": (60.0, -40.0, 200.0), "lower": (60.0, -40.0, -300.0)},
        stations={"s1": -7.0, "s2": 0.0, "s3": 7.0, "s4": 3.5},
        returns={},
    )
    known = survey(pose.points())
    result = evaluate(known, POSE.reference(), Options(monte_carlo=0))
    warned = {w.code: dict(w.facts) for w in result.warnings}
    assert set(warned) == {"first_order_only", "steering_turned_little", "targets_stacked"}
    assert warned["first_order_only"]["ratio"] == pytest.approx(0.178, abs=1e-3)
    verdicts = {c.key: c.verdict for c in result.characteristics if c.verdict != "no_tolerance"}
    assert verdicts.pop("pivot_width") == "within"
    assert set(verdicts.values()) == {"undecided"}
    assert result.finding.verdict == "undecided"
    by_trials = evaluate(known, POSE.reference())
    warned = {w.code: dict(w.facts) for w in by_trials.warnings}
    assert set(warned) == {"by_trials", "steering_turned_little", "targets_stacked"}
    assert by_trials.monte_carlo is not None
    assert by_trials.monte_carlo.needed
    for item in by_trials.characteristics:
        if item.lower is not None and item.probability_within is not None:
            sure = item.probability_within >= 0.95
            assert item.verdict == ("within" if sure else "undecided"), item.key


def test_turning_less_than_twenty_degrees_to_each_side_only_warns() -> None:
    result = evaluate(small_turn(19.0, 0.02, 2), POSE.reference())
    warning = next(w for w in result.warnings if w.code == "steering_turned_little")
    facts = dict(warning.facts)
    assert facts["turned_deg"] == pytest.approx(38.0, abs=1e-6)
    assert facts["needed_deg"] == 40.0
    assert "first_order_only" not in [w.code for w in result.warnings]


def test_two_bore_points_make_up_for_steering_that_hardly_turned() -> None:
    bore: Points = [
        (("head_bore", "high", None), POSE.on_bore(140.0)),
        (("head_bore", "low", None), POSE.on_bore(4.0)),
    ]
    pose = Pose(stations={"s1": 0.0, "s2": 1.0, "s3": 2.0}, returns={})
    result = evaluate(survey(pose.points() + bore), POSE.reference())
    (twist,) = (c for c in result.characteristics if c.key == "head_twist")
    assert twist.value == pytest.approx(0.0, abs=1e-7)


def test_a_steering_axis_along_the_pivot_is_refused() -> None:
    points = only("pivot", "pivot_face")
    points += [
        (
            ("steer_target", "upper", f"s{k}"),
            np.array([600.0 + 80.0 * math.cos(0.4 * k), 5.0, 300.0 + 80.0 * math.sin(0.4 * k)]),
        )
        for k in range(5)
    ]
    refusal = refused(survey(points))
    assert refusal.code == "axes_not_crosswise"
    assert refusal.facts["angle_deg"] == pytest.approx(0.0, abs=1e-3)


def test_a_spacing_of_a_target_from_itself() -> None:
    refusal = refused(survey(POSE.points(), target_spacing=(("upper", "upper", 100.0, 0.1),)))
    assert refusal.code == "spacing_unusable"
    refusal = refused(survey(POSE.points(), target_spacing=(("upper", "lower", 100.0, 0.0),)))
    assert (refusal.code, refusal.facts["what"]) == ("no_uncertainty", "spacing")


def test_half_a_turn_belongs_to_rims() -> None:
    points = [((f, x, "half_turn" if f == "pivot" else s), at) for (f, x, s), at in POSE.points()]
    refusal = refused(survey(points))
    assert (refusal.code, refusal.feature) == ("half_turn_without_rim", "pivot")
    assert refusal.facts["point"] == 1
    rim: Points = [
        (("rear_rim", "left", station), np.array([-600.0 + 200.0 * x, 60.0, 200.0 * z]))
        for station, x, z in (
            *((None, 1.0, 0.0), (None, -0.5, 0.866), (None, -0.5, -0.866)),
            *(("half_turn", -1.0, 0.0), ("half_turn", 0.5, 0.866), ("half_turn", 0.5, -0.866)),
        )
    ]
    assert evaluate(survey(POSE.points() + rim), POSE.reference()).finding.verdict == "within"
