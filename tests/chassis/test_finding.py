"""The finding over all characteristics: the first rule that applies, and the joint probability."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import multivariate_normal

from app.chassis.evaluate import evaluate
from app.chassis.result import Result
from app.chassis.survey import Options, Tolerance
from tests.chassis.poses import INSTRUMENT, Pose, survey

POSE = Pose()
FINE = replace(INSTRUMENT, standard_uncertainty_mm=0.02)


def solved(pose: Pose, threshold: float = 0.95, **changed: Tolerance | None) -> Result:
    measured = survey(pose.points(), instrument=FINE)
    return evaluate(measured, POSE.reference(**changed), Options(threshold))


def test_all_within_is_within() -> None:
    finding = solved(POSE).finding
    assert (finding.verdict, finding.required, finding.missing) == ("within", 6, ())
    assert finding.probability_all is not None
    assert finding.probability_all > 0.999


def test_one_outside_is_outside_even_where_it_is_not_required() -> None:
    result = solved(Pose(twist=1.0), head_twist=Tolerance(0.0, -0.3, 0.3, required=False))
    (twist,) = (c for c in result.characteristics if c.key == "head_twist")
    assert (twist.verdict, twist.side, twist.required) == ("outside", "above", False)
    assert result.finding.verdict == "outside"
    assert result.finding.required == 5


def test_outside_goes_before_a_missing_one() -> None:
    measured = [p for p in Pose(twist=1.0).points() if p[0][0] != "head_face"]
    result = evaluate(survey(measured, instrument=FINE), POSE.reference())
    assert result.finding.missing
    assert result.finding.verdict == "outside"


def test_a_missing_required_one_leaves_it_undecided() -> None:
    result = solved(POSE, arm_length=Tolerance(500.0, -2.0, 2.0))
    assert result.finding.missing == ("arm_length",)
    assert result.finding.verdict == "undecided"
    assert result.finding.probability_all is None
    waived = solved(POSE, arm_length=Tolerance(500.0, -2.0, 2.0, required=False))
    assert (waived.finding.verdict, waived.finding.missing) == ("within", ())


def test_nothing_required_is_undecided() -> None:
    reference = POSE.reference()
    known = {
        key: replace(tolerance, required=False)
        for key, tolerance in reference.characteristics.items()
    }
    result = evaluate(
        survey(POSE.points(), instrument=FINE), replace(reference, characteristics=known)
    )
    assert (result.finding.verdict, result.finding.required) == ("undecided", 0)
    assert result.finding.probability_all is None


def test_each_within_does_not_make_all_within() -> None:
    """Two at p = 0.96 each: within one by one at 0.95, together not."""
    reference = POSE.reference()
    us = {
        c.key: c.standard_uncertainty
        for c in evaluate(survey(POSE.points(), instrument=FINE), reference).characteristics
    }
    z = 2.0537
    tight = {
        key: Tolerance(reference.characteristics[key].nominal, -z * us[key], z * us[key])
        for key in ("head_twist", "face_position", "pivot_width")
    }
    result = evaluate(
        survey(POSE.points(), instrument=FINE),
        replace(reference, characteristics={**tight, "head_height": Tolerance(POSE.height)}),
    )
    verdicts = {c.key: c.verdict for c in result.characteristics}
    assert {verdicts[key] for key in tight} == {"within"}
    finding = result.finding
    assert finding.probability_all is not None
    assert 0.85 < finding.probability_all < 0.95
    assert finding.verdict == "undecided"
    keys = list(tight)
    place = [result.covariance_keys.index(key) for key in keys]
    covariance = result.covariance[np.ix_(place, place)]
    limits = np.array([z * us[key] for key in keys])
    expected = multivariate_normal(np.zeros(3), covariance).cdf(limits, lower_limit=-limits)
    assert finding.probability_all == pytest.approx(expected, abs=1e-4)
    assert (
        evaluate(
            survey(POSE.points(), instrument=FINE),
            replace(reference, characteristics={**tight, "head_height": Tolerance(POSE.height)}),
            Options(0.85),
        ).finding.verdict
        == "within"
    )


def test_what_levelling_determines_counts_once() -> None:
    """Under `by_height` reach, angle, distance and position are two numbers, not four: at
    p = 0.965 each the sum of what they lack would not pass, the joint distribution does."""
    reference = POSE.reference()
    us = {
        c.key: c.standard_uncertainty
        for c in evaluate(survey(POSE.points(), instrument=FINE), reference).characteristics
    }
    z = 2.1084
    tight = {
        key: Tolerance(reference.characteristics[key].nominal, -z * us[key], z * us[key])
        for key in ("head_reach", "axis_distance")
    }
    known = {**tight, "head_height": Tolerance(POSE.height)}
    result = evaluate(
        survey(POSE.points(), instrument=FINE), replace(reference, characteristics=known)
    )
    place = [result.covariance_keys.index(key) for key in tight]
    covariance = result.covariance[np.ix_(place, place)]
    size = np.sqrt(covariance.diagonal())
    together = float(covariance[0, 1] / size[0] / size[1])
    finding = result.finding
    assert finding.probability_all is not None
    assert together > 0.8
    assert 0.93 < finding.probability_all < 0.965


@pytest.mark.parametrize("threshold", [0.9, 0.95, 0.999])
def test_the_threshold_is_the_shops(threshold: float) -> None:
    """A twist of 0.25° against 0.3°: how sure one must be decides."""
    result = solved(Pose(twist=0.25), threshold)
    (twist,) = (c for c in result.characteristics if c.key == "head_twist")
    assert result.threshold == threshold
    assert twist.probability_within is not None
    decided = twist.probability_within >= threshold
    assert twist.verdict == ("within" if decided else "undecided")


def test_limits_may_stand_on_one_side() -> None:
    result = solved(
        Pose(twist=-2.0), head_twist=Tolerance(0.0, None, 0.3), pivot_width=Tolerance(240.0)
    )
    verdicts = {c.key: c for c in result.characteristics}
    assert verdicts["head_twist"].verdict == "within"
    assert verdicts["head_twist"].probability_below == 0.0
    assert not verdicts["head_twist"].cannot_decide
    assert verdicts["pivot_width"].verdict == "no_tolerance"
    low = solved(Pose(twist=-2.0), head_twist=Tolerance(0.0, -0.3, None))
    (twist,) = (c for c in low.characteristics if c.key == "head_twist")
    assert (twist.verdict, twist.side) == ("outside", "below")


def test_a_survey_that_cannot_decide_says_so() -> None:
    coarse = replace(INSTRUMENT, standard_uncertainty_mm=0.5)
    result = evaluate(survey(POSE.points(), instrument=coarse), POSE.reference())
    found = {c.key: c for c in result.characteristics}
    assert found["head_twist"].cannot_decide
    assert found["head_twist"].verdict == "undecided"
    assert found["head_twist"].expanded_uncertainty > 0.3
    assert not found["axis_distance"].cannot_decide


def test_expanded_uncertainty_is_k_times_u() -> None:
    for item in solved(POSE).characteristics:
        assert item.coverage_factor == pytest.approx(1.96, abs=1e-4)
        assert item.expanded_uncertainty == item.coverage_factor * item.standard_uncertainty


def test_a_required_one_without_a_limit_cannot_be_within() -> None:
    result = solved(POSE, pivot_width=Tolerance(240.0, required=True))
    assert (result.finding.verdict, result.finding.required) == ("undecided", 6)
