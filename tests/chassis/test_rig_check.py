"""Did the set-up stand still? What is tested, what follows, and what it could have seen."""

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.special import chdtri, chndtr

from app.chassis.evaluate import evaluate
from app.chassis.result import Result
from tests.chassis.poses import INSTRUMENT, Floats, Key, Pose, survey

POSE = Pose()
Points = list[tuple[Key, Floats]]
DATUM: Points = [
    (("pivot", "left", "return"), np.array([0.0, 130.0, 0.0])),
    (("pivot", "right", "return"), np.array([0.0, -130.0, 0.0])),
    (("pivot_face", "left", "return"), np.array([10.0, 120.0, 12.0])),
]


def slipped(points: Points, shift: Floats) -> Points:
    """The returned points after the set-up moved."""
    return [(k, x + shift if str(k[2]).startswith("return") else x) for k, x in points]


def solved(points: Points, noise: float = 0.0, seed: int = 0) -> Result:
    return evaluate(survey(points, noise=noise, seed=seed), POSE.reference())


def without_returns(points: Points) -> Points:
    return [p for p in points if not str(p[0][2]).startswith("return")]


@pytest.mark.parametrize(
    ("targets", "returns", "freedom", "limit"),
    [(1, 1, 2, 13.82), (2, 1, 5, 20.52), (3, 1, 8, 26.12), (2, 2, 10, 29.59)],
)
def test_degrees_of_freedom_and_limits(
    targets: int, returns: int, freedom: int, limit: float
) -> None:
    """3 T - 1 for each return of T targets; limits at 0.1 %."""
    names = {**POSE.targets, "third": (80.0, 180.0, -40.0)}
    pose = Pose(
        targets=dict(list(names.items())[:targets]),
        returns={f"return{k or ''}": 5.0 * k for k in range(returns)},
    )
    check = solved(pose.points()).rig_check
    assert (check.verdict, check.scope) == ("steady", "steering_only")
    assert check.degrees_of_freedom == freedom
    assert check.limit == pytest.approx(limit, abs=0.01)
    assert check.statistic == pytest.approx(0.0, abs=1e-9)


def test_the_datum_is_tested_apart() -> None:
    """Two for each returned point of a line, one for a face."""
    check = solved(POSE.points() + DATUM).rig_check
    assert (check.verdict, check.scope) == ("steady", "datum_and_steering")
    alone = solved(without_returns(POSE.points()) + DATUM).rig_check
    assert (alone.verdict, alone.scope, alone.degrees_of_freedom) == ("steady", "datum_only", 5)
    moved = solved(without_returns(POSE.points()) + slipped(DATUM, np.array([0, 0, 2.0])))
    assert moved.rig_check.verdict == "moved"
    both = POSE.points() + slipped(DATUM, np.array([0.0, 0.0, 2.0]))
    shown = solved(both).rig_check
    assert (shown.verdict, shown.degrees_of_freedom) == ("moved", 5)
    assert shown.statistic == pytest.approx(moved.rig_check.statistic, rel=1e-6)


def test_the_test_of_the_datum_by_hand() -> None:
    """Both pivot points 2 mm higher: difference of two means of points of 0.1 mm each.

    2 points x 2² / (0.1² + 0.1²) = 400.
    """
    higher = slipped(DATUM[:2], np.array([0.0, 0.0, 2.0]))
    check = solved(without_returns(POSE.points()) + higher).rig_check
    assert check.degrees_of_freedom == 4
    assert check.statistic == pytest.approx(400.0, rel=1e-4)


def test_without_returns_nothing_is_checked() -> None:
    check = solved(without_returns(POSE.points())).rig_check
    assert (check.verdict, check.scope, check.statistic) == ("not_checked", "none", None)
    assert check.detectable_slip_mm is None


def test_moved_reports_numbers_and_decides_nothing() -> None:
    moved = solved(slipped(POSE.points(), np.array([1.0, -2.0, 1.5])), noise=0.1, seed=3)
    assert moved.rig_check.verdict == "moved"
    before = solved(without_returns(POSE.points()), noise=0.1, seed=3)
    for one, other in zip(moved.characteristics, before.characteristics, strict=True):
        assert one.value == pytest.approx(other.value, rel=1e-9, abs=1e-9)
        if one.lower is not None:
            assert one.verdict == "undecided"
            assert one.probability_within is not None
    assert moved.finding.verdict == "undecided"
    assert moved.finding.probability_all is None


def test_a_moved_set_up_goes_before_an_outside_finding() -> None:
    bent = Pose(twist=3.0)
    result = evaluate(survey(slipped(bent.points(), np.array([0.0, 0.0, 5.0]))), POSE.reference())
    assert result.finding.verdict == "undecided"
    assert evaluate(survey(bent.points()), POSE.reference()).finding.verdict == "outside"


def test_steady_returns_join_the_estimate() -> None:
    with_returns = solved(POSE.points())
    before = solved(without_returns(POSE.points()))
    for one, other in zip(with_returns.characteristics, before.characteristics, strict=True):
        assert one.standard_uncertainty <= other.standard_uncertainty * (1.0 + 1e-12)
    twist = {c.key: c.standard_uncertainty for c in with_returns.characteristics}["head_twist"]
    assert twist < {c.key: c.standard_uncertainty for c in before.characteristics}["head_twist"]


def test_turning_about_the_steering_axis_is_blind() -> None:
    """The set-up turned about the axis itself looks like another steering angle."""
    axis, through = POSE.up, POSE.head
    turned: Points = []
    for key, place in POSE.points():
        if key[2] == "return":
            arm = place - through
            place = through + POSE.turned(arm, 4.0)
        turned.append((key, place))
    assert axis @ axis == pytest.approx(1.0)
    assert solved(turned).rig_check.statistic == pytest.approx(0.0, abs=1e-9)


def test_the_printed_slip_is_caught_nine_times_in_ten() -> None:
    """The non-centrality of the shifted returns, from the statistic of a survey without noise:
    the statistic is then the non-centrality itself."""
    check = solved(POSE.points()).rig_check
    assert check.weakest_direction is not None
    assert check.detectable_slip_mm is not None
    shift = np.array(check.weakest_direction) * check.detectable_slip_mm
    slip = solved(slipped(POSE.points(), shift)).rig_check
    assert slip.statistic is not None
    limit = float(chdtri(5, 0.001))
    assert 1.0 - float(chndtr(limit, 5, slip.statistic)) == pytest.approx(0.9, abs=0.003)
    for direction in np.random.default_rng(1).normal(size=(20, 3)):
        unit = direction / np.linalg.norm(direction) * check.detectable_slip_mm
        other = solved(slipped(POSE.points(), unit)).rig_check.statistic
        assert other is not None
        assert other > slip.statistic * 0.999


def test_the_printed_slip_of_the_datum_is_caught_nine_times_in_ten() -> None:
    points = without_returns(POSE.points())
    check = solved(points + DATUM).rig_check
    assert check.weakest_direction is not None
    assert check.detectable_slip_mm is not None
    shift = np.array(check.weakest_direction) * check.detectable_slip_mm
    slip = solved(points + slipped(DATUM, shift)).rig_check
    assert slip.statistic is not None
    limit = float(chdtri(5, 0.001))
    assert 1.0 - float(chndtr(limit, 5, slip.statistic)) == pytest.approx(0.9, abs=0.003)


def test_a_blind_direction_is_left_out_of_the_printed_slip() -> None:
    """Only the pivot measured again: a shift along it cannot be seen."""
    check = solved(without_returns(POSE.points()) + DATUM[:2]).rig_check
    assert check.weakest_direction is not None
    assert abs(check.weakest_direction[1]) < 1e-6
    needed = check.detectable_slip_mm
    assert needed is not None
    assert needed == pytest.approx(0.1 * math.sqrt(27.4), rel=0.02)


def test_a_little_more_noise_than_claimed_does_not_read_as_movement() -> None:
    """From the 95 % limit on the returns are held against the scatter found: an F ratio."""
    result = solved(POSE.points(), noise=0.1, seed=5)
    check = result.noise_check
    assert check.statistic is not None
    factor = math.sqrt(30.0 / check.statistic)
    claim = replace(INSTRUMENT, standard_uncertainty_mm=0.1 / factor)
    doubtful = evaluate(
        survey(POSE.points(), noise=0.1, seed=5, instrument=claim), POSE.reference()
    )
    assert doubtful.noise_check.verdict == "as_claimed"
    assert doubtful.noise_check.statistic == pytest.approx(30.0, rel=1e-6)
    rig = doubtful.rig_check
    assert rig.compared_with_scatter
    assert rig.limit == pytest.approx(7.272, abs=1e-3)
    plain = result.rig_check.statistic
    assert plain is not None
    assert rig.statistic == pytest.approx(plain * factor**2 / 5.0 / (30.0 / 16.0), rel=1e-4)


def test_a_return_whose_first_measurement_is_missing_is_said_and_left_out() -> None:
    extra: Points = [
        (("steer_target", "third", "return"), np.array([640.0, 80.0, 400.0])),
        (("head_bore", "low", "return"), POSE.on_bore(4.0)),
    ]
    points = [p for p in POSE.points() if p[0][:2] != ("pivot_face", "left")]
    result = solved(points + DATUM + extra)
    left_out = [
        (w.feature, dict(w.facts)["label"])
        for w in result.warnings
        if w.code == "return_without_first"
    ]
    assert sorted(left_out) == [
        ("head_bore", "low"),
        ("pivot_face", "left"),
        ("steer_target", "third"),
    ]
    assert result.rig_check.verdict == "steady"


def test_bore_and_head_face_measured_again_belong_to_the_datum() -> None:
    bore: Points = [
        (("head_bore", "high", None), POSE.on_bore(140.0)),
        (("head_bore", "low", None), POSE.on_bore(4.0)),
        (("head_bore", "low", "return"), POSE.on_bore(5.0)),
        (("head_face", None, "return"), POSE.on_face(20.0, 10.0)),
    ]
    still = solved(POSE.points() + bore).rig_check
    assert (still.verdict, still.scope) == ("steady", "datum_and_steering")
    moved = solved(POSE.points() + slipped(bore, np.array([0.0, 3.0, 0.0]))).rig_check
    assert (moved.verdict, moved.degrees_of_freedom) == ("moved", 3)


@pytest.mark.parametrize("size", [20.0, 100.0, 300.0, 1000.0, 1e5])
@pytest.mark.parametrize("direction", [(1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.5, 0.5, 0.7)])
@pytest.mark.parametrize("datum", [False, True])
def test_a_set_up_that_moved_far_is_moved_and_not_refused(
    size: float, direction: tuple[float, float, float], datum: bool
) -> None:
    """Where no one estimate fits the returns as well, the first points stand alone."""
    points = POSE.points() + DATUM if datum else POSE.points()
    result = solved(slipped(points, np.array(direction) * size), noise=0.1, seed=1)
    before = solved(without_returns(POSE.points()), noise=0.0)
    assert result.rig_check.verdict == "moved"
    assert result.noise_check.verdict == "as_claimed"
    assert len(result.characteristics) == len(before.characteristics)
    twist = result.characteristics[0]
    assert abs(twist.value) < 4.0 * twist.standard_uncertainty
