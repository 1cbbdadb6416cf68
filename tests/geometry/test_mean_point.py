"""The weighted mean of a point: closed forms, slopes, trials."""

import numpy as np
import pytest

from app.geometry.mean_point import fit_point
from app.geometry.undetermined import TooFewPoints
from tests.geometry.measured import as_they_are, by_differences, covariances, with_slopes

PLACES = np.array([[1.0, 2.0, 3.0], [1.4, 1.8, 3.0], [0.9, 2.3, 2.6]])


def test_variances_weigh_as_in_the_textbook() -> None:
    """JCGM 100:2008, F.1.2.4 (from memory): weights one over the variance; chi-square by hand."""
    found = fit_point(as_they_are(PLACES), np.array([0.01, 0.04, 0.04]))
    mean = (4.0 * PLACES[0] + PLACES[1] + PLACES[2]) / 6.0
    assert found.point.value == pytest.approx(mean, abs=1e-15)
    squares = np.sum((PLACES - mean) ** 2, axis=1)
    assert found.chi_square == pytest.approx(squares @ [100.0, 25.0, 25.0], rel=1e-13)
    assert found.degrees_of_freedom == 6


def test_covariances_weigh_every_direction_by_itself() -> None:
    first, second = np.diag([0.01, 0.09, 1.0]), np.diag([0.03, 0.01, 1.0])
    found = fit_point(as_they_are(PLACES[:2]), np.stack([first, second]))
    share = np.array([0.75, 0.1, 0.5])
    mean = share * PLACES[0] + (1.0 - share) * PLACES[1]
    assert found.point.value == pytest.approx(mean, abs=1e-14)
    assert found.chi_square == pytest.approx(0.16 / 0.04 + 0.04 / 0.1, rel=1e-12)


def test_covariance_of_the_result_is_the_inverse_of_the_summed_information() -> None:
    spread = covariances(np.random.default_rng(1), 3, 0.05, 0.5)
    slopes = fit_point(with_slopes(PLACES), spread).point.slopes
    assert slopes is not None
    parts = slopes.reshape(3, 3, 3).transpose(1, 0, 2)
    covariance = np.sum(parts @ spread @ parts.transpose(0, 2, 1), axis=0)
    expected = np.linalg.inv(np.sum(np.linalg.inv(spread), axis=0))
    assert covariance == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("full", [False, True])
def test_slopes_are_those_of_refitted_points(full: bool) -> None:
    spread = covariances(np.random.default_rng(2), 3, 0.1, 0.4) if full else np.array([1.0, 2, 5])

    def refit(places: np.ndarray) -> np.ndarray:
        return fit_point(as_they_are(places), spread).point.value

    slopes = fit_point(with_slopes(PLACES), spread).point.slopes
    assert slopes == pytest.approx(by_differences(refit, PLACES), abs=1e-10)


@pytest.mark.parametrize("full", [False, True])
def test_every_trial_is_fitted_as_if_alone(full: bool) -> None:
    rng = np.random.default_rng(3)
    spread = covariances(rng, 3, 0.1, 0.4) if full else np.array([0.01, 0.02, 0.05])
    trials = PLACES[:, :, np.newaxis] + 0.2 * rng.normal(size=(3, 3, 40))
    together = fit_point(as_they_are(trials), spread)
    for trial in range(40):
        alone = fit_point(as_they_are(trials[..., trial]), spread)
        assert together.point.value[:, trial] == pytest.approx(alone.point.value, abs=1e-13)
        assert np.asarray(together.chi_square)[trial] == pytest.approx(alone.chi_square, rel=1e-10)


def test_a_constant_among_points_with_slopes_has_none() -> None:
    points = with_slopes(PLACES)
    points[1] = as_they_are(PLACES)[1]
    slopes = fit_point(points, np.ones(3)).point.slopes
    assert slopes is not None
    assert slopes[:, 3:6] == pytest.approx(np.zeros((3, 3)), abs=0.0)
    assert slopes[:, :3] == pytest.approx(np.eye(3) / 3.0, abs=1e-15)


def test_no_point_has_no_mean() -> None:
    with pytest.raises(TooFewPoints, match="0 points where 1"):
        fit_point([], np.zeros(0))
