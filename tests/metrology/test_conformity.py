"""Verdicts: the rule itself, Student's distribution, limits that are absent or certain."""

import numpy as np
import pytest
from scipy import stats

from app.metrology.conformity import (
    Verdict,
    cannot_decide,
    coverage_factor,
    probabilities,
    verdict,
)


@pytest.mark.parametrize(
    ("deviation", "expected"),
    [
        (0.0, Verdict("within", None)),
        (0.30, Verdict("undecided", None)),
        (-0.35, Verdict("undecided", None)),
        (0.45, Verdict("outside", "above")),
        (-0.45, Verdict("outside", "below")),
    ],
)
def test_verdict_by_probability(deviation: float, expected: Verdict) -> None:
    assert verdict(probabilities(deviation, 0.05, None, -0.3, 0.3), 0.95) == expected


def test_the_threshold_itself_is_enough() -> None:
    found = probabilities(-1.0, 1.0, None, None, 0.0)
    assert verdict(found, found.within).code == "within"
    assert verdict(found, np.nextafter(found.within, 1.0)).code == "undecided"


def test_few_degrees_of_freedom_use_the_students_distribution() -> None:
    found = probabilities(0.1, 0.2, 4.0, -0.3, 0.5)
    known = stats.t(4.0, loc=0.1, scale=0.2)
    assert found.within == pytest.approx(known.cdf(0.5) - known.cdf(-0.3), abs=1e-14)
    assert found.above == pytest.approx(known.sf(0.5), rel=1e-12)
    assert found.below == pytest.approx(known.cdf(-0.3), rel=1e-12)


def test_from_fifty_degrees_of_freedom_on_the_normal_distribution_is_used() -> None:
    normal = probabilities(0.1, 0.2, None, -0.3, 0.5)
    assert probabilities(0.1, 0.2, 50.0, -0.3, 0.5) == normal
    assert probabilities(0.1, 0.2, 49.9, -0.3, 0.5).above > normal.above


def test_small_tails_keep_their_digits() -> None:
    found = probabilities(0.0, 0.01, None, -0.1, 0.2)
    assert found.below == pytest.approx(stats.norm.cdf(-10.0), rel=1e-10)
    assert found.above == pytest.approx(stats.norm.cdf(-20.0), rel=1e-10)


def test_absent_limits_are_never_crossed() -> None:
    assert probabilities(1e6, 1.0, None, None, None) == (1.0, 0.0, 0.0)
    assert probabilities(1e6, 1.0, None, 0.0, None) == (1.0, 0.0, 0.0)


@pytest.mark.parametrize(
    ("deviation", "expected"),
    [(0.3, (1.0, 0.0, 0.0)), (0.31, (0.0, 1.0, 0.0)), (-0.31, (0.0, 0.0, 1.0))],
)
def test_without_uncertainty_the_limits_are_sharp(
    deviation: float, expected: tuple[float, float, float]
) -> None:
    assert probabilities(deviation, 0.0, None, -0.3, 0.3) == expected


def test_a_survey_cannot_decide_when_it_is_coarser_than_the_tolerance() -> None:
    assert cannot_decide(0.31, -0.3, 0.3)
    assert not cannot_decide(0.3, -0.3, 0.3)
    assert cannot_decide(0.31, 0.0, 0.6)
    assert not cannot_decide(9.9, None, 0.3)


def test_coverage_factor_between_whole_degrees_of_freedom() -> None:
    assert coverage_factor(7.0) < coverage_factor(6.5) < coverage_factor(6.0)
    assert coverage_factor(6.5) == pytest.approx(stats.t.ppf(0.975, 6.5), rel=1e-12)
    assert coverage_factor(None) == pytest.approx(1.959963984540054, rel=1e-15)
