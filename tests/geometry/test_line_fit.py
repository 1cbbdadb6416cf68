"""Maximum-likelihood lines: what must hold whatever the numbers are."""

import numpy as np
import pytest

from app.geometry.line_fit import fit_line
from app.geometry.undetermined import PointsTooClose, TooFewPoints
from tests.geometry.measured import (
    Floats,
    as_they_are,
    by_differences,
    covariances,
    line_numbers,
    line_slopes,
    random_motion,
    with_slopes,
)

ALONG = np.array([0.2, -0.3, 0.9])
TOWARD = ALONG / np.linalg.norm(ALONG)


def scattered(seed: int, count: int, noise: float = 0.5) -> Floats:
    rng = np.random.default_rng(seed)
    places = np.outer(np.linspace(-140.0, 180.0, count), TOWARD) + np.array([400.0, 20.0, -70.0])
    return np.asarray(places + noise * rng.normal(size=(count, 3)))


def spread_of(seed: int, count: int, full: bool) -> Floats:
    rng = np.random.default_rng(seed)
    if full:
        return covariances(rng, count, 0.1, 0.6)
    return rng.uniform(0.1, 0.6, count) ** 2


CASES = [(2, False), (2, True), (3, False), (3, True), (6, False), (6, True)]


@pytest.mark.parametrize(("count", "full"), CASES)
def test_slopes_are_those_of_refitted_points(count: int, full: bool) -> None:
    places, spread = scattered(count, count, 2.0), spread_of(count, count, full)

    def refit(moved: Floats) -> Floats:
        return line_numbers(fit_line(as_they_are(moved), spread, TOWARD))

    slopes = line_slopes(fit_line(with_slopes(places), spread, TOWARD))
    assert slopes == pytest.approx(by_differences(refit, places), rel=1e-6, abs=1e-8)


@pytest.mark.parametrize(("count", "full"), CASES)
def test_every_trial_is_fitted_as_if_alone(count: int, full: bool) -> None:
    spread = spread_of(7, count, full)
    rng = np.random.default_rng(8)
    trials = scattered(9, count)[..., np.newaxis] + rng.normal(size=(count, 3, 60))
    together = fit_line(as_they_are(trials), spread, TOWARD)
    assert np.shape(together.chi_square) == (60,)
    for trial in range(60):
        alone = fit_line(as_they_are(trials[..., trial]), spread, TOWARD)
        assert together.point.value[:, trial] == pytest.approx(alone.point.value, abs=1e-8)
        assert together.direction.value[:, trial] == pytest.approx(alone.direction.value, abs=1e-10)
        assert np.asarray(together.chi_square)[trial] == pytest.approx(
            alone.chi_square, rel=1e-8, abs=1e-12
        )


def test_trials_of_points_hardly_apart_are_fitted_as_if_alone() -> None:
    """Length little more than width: not by a few powers of the moments."""
    rng = np.random.default_rng(19)
    trials = np.array([[0.0, 0, 0], [0, 0, 3], [0, 0, 5]])[..., np.newaxis]
    trials = trials + rng.normal(size=(3, 3, 400))
    together = fit_line(as_they_are(trials), np.ones(3), [0.0, 0.0, 1.0])
    for trial in range(400):
        alone = np.linalg.svd(trials[..., trial] - trials[..., trial].mean(axis=0))[2][0]
        assert abs(together.direction.value[:, trial] @ alone) == pytest.approx(1.0, abs=1e-12)


@pytest.mark.parametrize("full", [False, True])
def test_a_turned_and_shifted_set_has_the_turned_and_shifted_line(full: bool) -> None:
    places, spread = scattered(10, 5), spread_of(10, 5, full)
    move = random_motion(np.random.default_rng(11))
    turned = move.rotation @ spread @ move.rotation.T if full else spread
    before = fit_line(as_they_are(places), spread, TOWARD)
    after = fit_line(as_they_are(move(places)), turned, move.rotation @ TOWARD)
    assert after.direction.value == pytest.approx(move.rotation @ before.direction.value, abs=1e-12)
    assert after.point.value == pytest.approx(move(before.point.value), abs=1e-9)
    assert after.chi_square == pytest.approx(before.chi_square, rel=1e-8)


@pytest.mark.parametrize("full", [False, True])
def test_the_order_of_the_points_does_not_matter(full: bool) -> None:
    places, spread = scattered(12, 6), spread_of(12, 6, full)
    order = np.array([4, 1, 5, 0, 3, 2])
    one = fit_line(as_they_are(places), spread, TOWARD)
    other = fit_line(as_they_are(places[order]), spread[order], TOWARD)
    assert line_numbers(other) == pytest.approx(line_numbers(one), abs=1e-10)


def test_variances_and_the_covariances_that_say_the_same_agree() -> None:
    """Two roads: principal direction in closed form, and the steps for any covariance."""
    places, variances = scattered(13, 6, 3.0), spread_of(13, 6, False)
    covariance = np.eye(3) * variances[:, np.newaxis, np.newaxis]
    one = fit_line(with_slopes(places), variances, TOWARD)
    other = fit_line(with_slopes(places), covariance, TOWARD)
    assert line_numbers(other) == pytest.approx(line_numbers(one), abs=1e-9)
    assert other.chi_square == pytest.approx(one.chi_square, rel=1e-10)
    assert line_slopes(other) == pytest.approx(line_slopes(one), abs=1e-10)


@pytest.mark.parametrize("full", [False, True])
def test_the_direction_agrees_with_the_caller(full: bool) -> None:
    places, spread = scattered(14, 4), spread_of(14, 4, full)
    one = fit_line(with_slopes(places), spread, TOWARD)
    other = fit_line(with_slopes(places), spread, -TOWARD)
    assert one.direction.value @ TOWARD > 0.99
    assert other.direction.value == pytest.approx(-one.direction.value, abs=1e-14)
    assert other.direction.slopes == pytest.approx(-np.asarray(one.direction.slopes), abs=1e-14)


@pytest.mark.parametrize("full", [False, True])
def test_no_other_line_has_a_smaller_chi_square(full: bool) -> None:
    places, spread = scattered(15, 5), spread_of(15, 5, full)
    best = fit_line(as_they_are(places), spread, TOWARD)
    inverse = np.linalg.inv(spread) if full else np.eye(3) / spread[:, np.newaxis, np.newaxis]

    def chi_square(point: Floats, direction: Floats) -> float:
        """Each point's true place wherever along the line it costs least."""
        total = 0.0
        for arm, weight in zip(places - point, inverse, strict=True):
            along = (direction @ weight @ arm) / (direction @ weight @ direction)
            off = arm - along * direction
            total += float(off @ weight @ off)
        return total

    least = chi_square(best.point.value, best.direction.value)
    assert best.chi_square == pytest.approx(least, rel=1e-9)
    for change in (*np.eye(3), *-np.eye(3)):
        assert chi_square(best.point.value + 1e-3 * change, best.direction.value) >= least
        assert chi_square(best.point.value, best.direction.value + 1e-5 * change) >= least


def test_chi_square_has_the_mean_of_its_degrees_of_freedom() -> None:
    rng = np.random.default_rng(16)
    spread = spread_of(16, 5, True)
    roots = np.linalg.cholesky(spread)
    noise = np.einsum("kij,kjt->kit", roots, rng.normal(size=(5, 3, 20_000)))
    found = fit_line(as_they_are(scattered(0, 5, 0.0)[..., np.newaxis] + noise), spread, TOWARD)
    assert found.degrees_of_freedom == 6
    assert np.mean(found.chi_square) == pytest.approx(6.0, abs=5.0 * np.sqrt(12.0 / 20_000))


def test_slopes_carry_the_covariance_that_trials_show() -> None:
    rng = np.random.default_rng(17)
    spread = spread_of(17, 4, True)
    places = scattered(0, 4, 0.0)
    slopes = line_slopes(fit_line(with_slopes(places), spread, TOWARD))
    whole = np.zeros((12, 12))
    for k, part in enumerate(spread):
        whole[3 * k : 3 * k + 3, 3 * k : 3 * k + 3] = part
    expected = np.sqrt(np.diag(slopes @ whole @ slopes.T))
    noise = np.einsum("kij,kjt->kit", np.linalg.cholesky(spread), rng.normal(size=(4, 3, 20_000)))
    found = fit_line(as_they_are(places[..., np.newaxis] + noise), spread, TOWARD)
    met = np.concatenate((found.point.value.std(axis=1), found.direction.value.std(axis=1)))
    assert met == pytest.approx(expected, rel=0.03)


def test_coincident_points_are_told_with_the_numbers() -> None:
    with pytest.raises(PointsTooClose) as caught:
        fit_line(as_they_are(np.array([[1.0, 0, 0], [1.0, 0.2, 0]])), np.full(2, 0.01), TOWARD)
    assert caught.value.met_mm == pytest.approx(0.2, rel=1e-12)
    assert caught.value.needed_mm == pytest.approx(0.3, rel=1e-12)


def test_one_point_is_no_line() -> None:
    with pytest.raises(TooFewPoints) as caught:
        fit_line(as_they_are(np.zeros((1, 3))), np.ones(1), TOWARD)
    assert (caught.value.met, caught.value.needed) == (1, 2)
