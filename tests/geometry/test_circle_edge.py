"""Maximum-likelihood circles of a rim's edge: what must hold whatever the numbers are."""

from typing import Literal

import numpy as np
import pytest

from app.geometry.circle_edge import edges_through_three, fit_circle_edge
from app.geometry.circles import fit_circle
from app.geometry.dual import Scalar, Vector
from app.geometry.undetermined import PointsTooClose, TooFewPoints
from tests.geometry.measured import (
    Floats,
    as_they_are,
    by_differences,
    covariances,
    edge_numbers,
    edge_slopes,
    random_motion,
    with_slopes,
)

MOVE = random_motion(np.random.default_rng(0))
TOWARD = MOVE.rotation[:, 2]
OFFSETS = np.array([3.0, 0.0, 1.5, 3.0, 3.0, 0.5])


def rim(
    seed: int, count: int, noise: float = 0.3, offsets: Floats | None = None, arc: float = 4.0
) -> Floats:
    """Points of a circle of 215 mm, lifted along its normal by their offsets, moved somewhere."""
    angle = np.linspace(0.0, arc, count)
    lift = np.zeros(count) if offsets is None else offsets
    flat = np.column_stack([215.0 * np.cos(angle), 215.0 * np.sin(angle), lift])
    return MOVE(flat + noise * np.random.default_rng(seed).normal(size=(count, 3)))


def spread_of(seed: int, count: int, full: bool) -> Floats:
    rng = np.random.default_rng(seed)
    return covariances(rng, count, 0.1, 0.5) if full else rng.uniform(0.1, 0.5, count) ** 2


@pytest.mark.parametrize("side", [1, -1])
@pytest.mark.parametrize("full", [False, True])
@pytest.mark.parametrize("count", [3, 4, 6])
def test_slopes_are_those_of_refitted_points(count: int, full: bool, side: Literal[-1, 1]) -> None:
    offsets = OFFSETS[:count]
    places, spread = rim(count, count, 1.0, side * offsets), spread_of(count, count, full)

    def refit(moved: Floats) -> Floats:
        found = fit_circle_edge(
            as_they_are(moved), spread, TOWARD, offsets=offsets.tolist(), side=side
        )
        return edge_numbers(found)

    found = fit_circle_edge(
        with_slopes(places), spread, TOWARD, offsets=offsets.tolist(), side=side
    )
    assert edge_slopes(found) == pytest.approx(by_differences(refit, places), rel=1e-6, abs=1e-8)


def test_variances_and_the_covariances_that_say_the_same_agree() -> None:
    """Two roads: residuals by closed form, and true places found by turns."""
    places, variances = rim(18, 6, 2.0, OFFSETS), spread_of(18, 6, False)
    covariance = np.eye(3) * variances[:, np.newaxis, np.newaxis]
    known = [Scalar(float(o), column) for o, column in zip(OFFSETS, np.eye(6, 18), strict=True)]
    one = fit_circle_edge(with_slopes(places), variances, TOWARD, offsets=known)
    other = fit_circle_edge(with_slopes(places), covariance, TOWARD, offsets=known)
    assert edge_numbers(other) == pytest.approx(edge_numbers(one), abs=1e-8)
    assert other.chi_square == pytest.approx(one.chi_square, rel=1e-10)
    assert edge_slopes(other) == pytest.approx(edge_slopes(one), abs=1e-8)


@pytest.mark.parametrize("side", [1, -1])
@pytest.mark.parametrize("full", [False, True])
def test_slopes_by_an_offset_are_those_of_a_refit(full: bool, side: Literal[-1, 1]) -> None:
    places, spread = rim(5, 6, 1.0, side * OFFSETS), spread_of(5, 6, full)
    columns = np.eye(6)
    known = [Scalar(float(o), c) for o, c in zip(OFFSETS, columns, strict=True)]
    found = fit_circle_edge(as_they_are(places), spread, TOWARD, offsets=known, side=side)

    def refit(offsets: Floats) -> Floats:
        edge = fit_circle_edge(
            as_they_are(places), spread, TOWARD, offsets=offsets.tolist(), side=side
        )
        return edge_numbers(edge)

    numeric = [(refit(OFFSETS + 1e-3 * c) - refit(OFFSETS - 1e-3 * c)) / 2e-3 for c in columns]
    assert edge_slopes(found) == pytest.approx(np.stack(numeric, axis=1), rel=1e-6, abs=1e-8)
    common = edge_slopes(found).sum(axis=1)
    assert common[:3] == pytest.approx(-side * found.normal.value, abs=1e-10)
    assert common[3:] == pytest.approx(np.zeros(4), abs=1e-10)


@pytest.mark.parametrize("full", [False, True])
@pytest.mark.parametrize("count", [3, 4, 6])
def test_every_trial_is_fitted_as_if_alone(count: int, full: bool) -> None:
    spread = spread_of(6, count, full)
    rng = np.random.default_rng(7)
    places = rim(8, count, 0.0, OFFSETS[:count])
    trials = places[..., np.newaxis] + 0.3 * rng.normal(size=(count, 3, 60))
    offsets = OFFSETS[:count].tolist()
    together = fit_circle_edge(as_they_are(trials), spread, TOWARD, offsets=offsets)
    for trial in range(60):
        alone = fit_circle_edge(as_they_are(trials[..., trial]), spread, TOWARD, offsets=offsets)
        assert together.centre.value[:, trial] == pytest.approx(alone.centre.value, abs=1e-8)
        assert together.normal.value[:, trial] == pytest.approx(alone.normal.value, abs=1e-10)
        assert np.asarray(together.radius.value)[trial] == pytest.approx(
            alone.radius.value, abs=1e-8
        )


def test_offsets_over_trials_move_the_centre_alone() -> None:
    places, spread = rim(9, 5), np.full(5, 0.01)
    errors = np.linspace(-0.5, 0.5, 7)
    found = fit_circle_edge(
        as_they_are(places), spread, TOWARD, offsets=[Scalar(3.0 + errors)] * 5, side=-1
    )
    still = fit_circle_edge(as_they_are(places), spread, TOWARD, offsets=[3.0] * 5, side=-1)
    moved = still.centre.value[:, np.newaxis] + np.outer(still.normal.value, errors)
    assert found.centre.value == pytest.approx(moved, abs=1e-8)
    assert found.radius.value == pytest.approx(np.full(7, still.radius.value), abs=1e-8)


def test_an_offset_is_the_distance_outside_the_edge_on_its_own_side() -> None:
    for side in (1, -1):
        places = rim(0, 6, 0.0, side * OFFSETS)
        found = fit_circle_edge(
            as_they_are(places),
            np.full(6, 0.01),
            TOWARD,
            offsets=OFFSETS.tolist(),
            side=1 if side > 0 else -1,
        )
        assert found.centre.value == pytest.approx(MOVE.translation, abs=1e-8)
        assert found.radius.value == pytest.approx(215.0, abs=1e-9)
        assert found.chi_square == pytest.approx(0.0, abs=1e-12)


@pytest.mark.parametrize("full", [False, True])
def test_a_turned_and_shifted_set_has_the_turned_and_shifted_circle(full: bool) -> None:
    places, spread = rim(10, 5), spread_of(10, 5, full)
    move = random_motion(np.random.default_rng(11))
    turned = move.rotation @ spread @ move.rotation.T if full else spread
    before = fit_circle_edge(as_they_are(places), spread, TOWARD, offsets=[2.0] * 5)
    after = fit_circle_edge(
        as_they_are(move(places)), turned, move.rotation @ TOWARD, offsets=[2.0] * 5
    )
    assert after.centre.value == pytest.approx(move(before.centre.value), abs=1e-9)
    assert after.normal.value == pytest.approx(move.rotation @ before.normal.value, abs=1e-12)
    assert after.radius.value == pytest.approx(before.radius.value, abs=1e-9)


def test_the_normal_agrees_with_the_caller() -> None:
    places, spread = rim(12, 5), spread_of(12, 5, False)
    one = fit_circle_edge(with_slopes(places), spread, TOWARD)
    other = fit_circle_edge(with_slopes(places), spread, -TOWARD)
    assert one.normal.value @ TOWARD > 0.99
    assert other.normal.value == pytest.approx(-one.normal.value, abs=1e-12)
    assert other.centre.value == pytest.approx(one.centre.value, abs=1e-9)
    assert edge_slopes(other)[3:6] == pytest.approx(-edge_slopes(one)[3:6], abs=1e-10)


def test_without_offsets_it_is_the_circle_of_the_other_fit() -> None:
    """`geometry.circles` minimises the same sum by other steps."""
    places, spread = rim(13, 7, 2.0, arc=2.0), spread_of(13, 7, False)
    found = fit_circle_edge(as_they_are(places), spread, TOWARD)
    other = fit_circle(places, 1.0 / spread)
    assert found.centre.value == pytest.approx(other.centre, abs=1e-7)
    assert found.radius.value == pytest.approx(other.radius, abs=1e-7)
    assert abs(found.normal.value @ other.normal) == pytest.approx(1.0, abs=1e-13)


@pytest.mark.parametrize("arc", [1.0, 4.0])
def test_chi_square_has_the_mean_of_its_degrees_of_freedom(arc: float) -> None:
    """The short arc curves strongly: some trials do not settle by the easy steps."""
    rng = np.random.default_rng(14)
    places = rim(0, 6, 0.0, arc=arc)[..., np.newaxis] + rng.normal(size=(6, 3, 5_000))
    found = fit_circle_edge(as_they_are(places), np.ones(6), TOWARD)
    assert found.degrees_of_freedom == 6
    assert np.mean(found.chi_square) == pytest.approx(6.0, abs=5.0 * np.sqrt(12.0 / 5_000))


@pytest.mark.parametrize("full", [False, True])
def test_slopes_carry_the_covariance_that_trials_show(full: bool) -> None:
    rng = np.random.default_rng(15)
    spread = spread_of(15, 5, full) / 25.0
    each = spread if full else np.eye(3) * spread[:, np.newaxis, np.newaxis]
    places = rim(0, 5, 0.0)
    slopes = edge_slopes(fit_circle_edge(with_slopes(places), spread, TOWARD))
    parts = slopes.reshape(7, 5, 3).transpose(1, 0, 2)
    expected = np.sqrt(np.diag(np.sum(parts @ each @ parts.transpose(0, 2, 1), axis=0)))
    noise = np.einsum("kij,kjt->kit", np.linalg.cholesky(each), rng.normal(size=(5, 3, 20_000)))
    found = fit_circle_edge(as_they_are(places[..., np.newaxis] + noise), spread, TOWARD)
    radius = np.atleast_2d(found.radius.value)
    met = np.concatenate((found.centre.value, found.normal.value, radius)).std(axis=1)
    assert met == pytest.approx(expected, rel=0.03)


@pytest.mark.parametrize("side", [1, -1])
def test_through_three_points_of_one_offset_slopes_are_those_of_refitted_points(
    side: Literal[-1, 1],
) -> None:
    places, spread = rim(24, 3, 1.0, np.full(3, 3.0 * side)), spread_of(24, 3, False)

    def refit(moved: Floats, offset: float = 3.0) -> Floats:
        found = fit_circle_edge(as_they_are(moved), spread, TOWARD, offsets=[offset] * 3, side=side)
        return edge_numbers(found)

    shared = Scalar(3.0, np.eye(10)[9])
    points = [
        Vector(p.value, np.pad(np.asarray(p.slopes), ((0, 0), (0, 1)))) for p in with_slopes(places)
    ]
    found = fit_circle_edge(points, spread, TOWARD, offsets=[shared] * 3, side=side)
    slopes = edge_slopes(found)
    assert slopes[:, :9] == pytest.approx(by_differences(refit, places), rel=1e-6, abs=1e-8)
    by_offset = (refit(places, 3.0 + 1e-3) - refit(places, 3.0 - 1e-3)) / 2e-3
    assert slopes[:, 9] == pytest.approx(by_offset, abs=1e-9)
    assert found.radius.value == pytest.approx(fit_circle(places).radius, abs=1e-9)


def test_circles_through_three_points_are_found_together_as_each_alone() -> None:
    places = np.stack([rim(seed, 3, 1.0) for seed in (25, 26, 27)])
    slopes = np.random.default_rng(28).normal(size=(3, 9, 5))
    lifts = [Scalar(2.0, np.eye(5)[0]), Scalar(-2.0, -np.eye(5)[0]), Scalar(0.0)]
    together = edges_through_three(places, slopes, np.ones((3, 3)), lifts, TOWARD)
    for place, (edge, lift) in enumerate(zip(together, lifts, strict=True)):
        points = [
            Vector(p, s) for p, s in zip(places[place], slopes[place].reshape(3, 3, 5), strict=True)
        ]
        alone = fit_circle_edge(points, np.ones(3), TOWARD, offsets=[lift] * 3)
        assert edge_numbers(edge) == pytest.approx(edge_numbers(alone), abs=1e-11)
        assert edge_slopes(edge) == pytest.approx(edge_slopes(alone), abs=1e-12)


def test_three_points_of_one_offset_are_fitted_in_every_trial_as_if_alone() -> None:
    rng = np.random.default_rng(29)
    trials = rim(30, 3, 1.0)[..., np.newaxis] + rng.normal(size=(3, 3, 40))
    offset = Scalar(2.0 + 0.1 * rng.normal(size=40))
    together = fit_circle_edge(as_they_are(trials), np.ones(3), TOWARD, offsets=[offset] * 3)
    for trial in range(40):
        lift = float(np.asarray(offset.value)[trial])
        alone = fit_circle_edge(
            as_they_are(trials[..., trial]), np.ones(3), TOWARD, offsets=[lift] * 3
        )
        met = (together.centre.value, together.normal.value, np.atleast_2d(together.radius.value))
        assert np.concatenate(met)[:, trial] == pytest.approx(edge_numbers(alone), abs=1e-10)


def test_points_on_one_line_are_told_with_the_numbers() -> None:
    places = np.outer(np.arange(4.0), [100.0, 0.0, 0.0])
    places[1] += [0.0, 0.1, 0.0]
    with pytest.raises(PointsTooClose) as caught:
        fit_circle_edge(as_they_are(places), np.full(4, 0.01), TOWARD)
    assert caught.value.met_mm == pytest.approx(0.1, rel=0.2)
    assert caught.value.needed_mm == pytest.approx(0.3, rel=1e-12)


def test_coincident_points_have_no_circle() -> None:
    with pytest.raises(PointsTooClose):
        fit_circle_edge(as_they_are(np.ones((3, 3))), np.full(3, 0.01), TOWARD)


def test_two_points_have_no_circle() -> None:
    with pytest.raises(TooFewPoints) as caught:
        fit_circle_edge(as_they_are(np.eye(3)[:2]), np.ones(2), TOWARD)
    assert (caught.value.met, caught.value.needed) == (2, 3)
