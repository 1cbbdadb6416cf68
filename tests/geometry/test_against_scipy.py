"""Lines and circles against SciPy's least_squares: every point's true place an unknown of its own.

Another statement of the same problem, by another parameterisation (angles, places along the line
or round the circle), solved by another's solver; the slopes by refitting it.
"""

from typing import Literal

import numpy as np
import pytest
from scipy.optimize import least_squares
from scipy.spatial.transform import Rotation

from app.geometry.circle_edge import fit_circle_edge
from app.geometry.line_fit import fit_line
from tests.geometry.measured import (
    Floats,
    by_differences,
    covariances,
    edge_numbers,
    edge_slopes,
    line_slopes,
    random_motion,
    with_slopes,
)

LINE = random_motion(np.random.default_rng(1))
RIM = random_motion(np.random.default_rng(2))


def whiteners(spread: Floats) -> Floats:
    """(k, 3, 3): W with W^T W the inverse of each covariance."""
    return np.asarray(np.linalg.inv(np.linalg.cholesky(spread)))


def theirs_line(places: Floats, spread: Floats) -> tuple[Floats, float]:
    """Direction, and the point beside the weighted mean; and the sum of squares."""
    whiten = whiteners(LINE.rotation.T @ spread @ LINE.rotation)
    local = (places - LINE.translation) @ LINE.rotation

    def placed(p: Floats) -> Floats:
        turn = Rotation.from_euler("xy", p[:2]).as_matrix()
        return np.asarray(np.array([p[2], p[3], 0.0]) + np.outer(p[4:], turn[:, 2]))

    def rows(p: Floats) -> Floats:
        return np.asarray(np.einsum("kij,kj->ki", whiten, local - placed(p)).ravel())

    start = np.concatenate((np.zeros(4), local[:, 2]))
    fit = least_squares(rows, start, xtol=1e-15, ftol=1e-15, gtol=1e-12, x_scale="jac")
    direction = LINE.rotation @ Rotation.from_euler("xy", fit.x[:2]).as_matrix()[:, 2]
    through = LINE(np.array([fit.x[2], fit.x[3], 0.0]))
    weights = 1.0 / np.trace(spread, axis1=1, axis2=2)
    mean = weights @ places / weights.sum()
    beside = through + direction * (direction @ (mean - through))
    return np.concatenate((beside, direction)), 2.0 * float(fit.cost)


@pytest.mark.parametrize("count", [3, 5])
@pytest.mark.parametrize("full", [False, True])
def test_a_line_and_its_slopes_agree(count: int, full: bool) -> None:
    rng = np.random.default_rng(count)
    u = rng.uniform(0.3, 1.5, count)
    covariance = covariances(rng, count, 0.2, 2.0) if full else np.eye(3) * u[:, None, None] ** 2
    noise = np.einsum("kij,kj->ki", np.linalg.cholesky(covariance), rng.normal(size=(count, 3)))
    places = LINE(np.outer(np.linspace(-120.0, 150.0, count), [0.0, 0.0, 1.0]) + noise)
    ours = fit_line(with_slopes(places), covariance if full else u**2, LINE.rotation[:, 2])
    theirs, squares = theirs_line(places, covariance)
    found = np.concatenate((ours.point.value, ours.direction.value))
    assert found[:3] == pytest.approx(theirs[:3], abs=1e-5)
    assert found[3:] == pytest.approx(theirs[3:], abs=1e-7)
    assert ours.chi_square == pytest.approx(squares, rel=1e-8)

    def refit(moved: Floats) -> Floats:
        return theirs_line(moved, covariance)[0]

    numeric = by_differences(refit, places, 0.05)
    assert line_slopes(ours)[:3] == pytest.approx(numeric[:3], abs=2e-4)
    assert line_slopes(ours)[3:] == pytest.approx(numeric[3:], abs=2e-6)


def theirs_edge(places: Floats, spread: Floats, lifts: Floats) -> tuple[Floats, float]:
    """Centre, normal, radius; and the sum of squares."""
    local = (places - RIM.translation) @ RIM.rotation
    whiten = whiteners(RIM.rotation.T @ spread @ RIM.rotation)

    def rows(p: Floats) -> Floats:
        turn = Rotation.from_euler("xy", p[3:5]).as_matrix()
        round_it = np.column_stack([p[5] * np.cos(p[6:]), p[5] * np.sin(p[6:]), lifts])
        off = local - p[:3] - round_it @ turn.T
        return np.asarray(np.einsum("kij,kj->ki", whiten, off).ravel())

    start = np.concatenate((np.zeros(5), [200.0], np.arctan2(local[:, 1], local[:, 0])))
    fit = least_squares(rows, start, xtol=1e-15, ftol=1e-15, gtol=1e-12, x_scale="jac")
    normal = RIM.rotation @ Rotation.from_euler("xy", fit.x[3:5]).as_matrix()[:, 2]
    found = np.concatenate((RIM(fit.x[:3]), normal, fit.x[5:6]))
    return found, 2.0 * float(fit.cost)


@pytest.mark.parametrize("side", [1, -1])
@pytest.mark.parametrize("count", [3, 6])
@pytest.mark.parametrize("full", [False, True])
def test_a_rims_edge_and_its_slopes_agree(count: int, full: bool, side: Literal[-1, 1]) -> None:
    rng = np.random.default_rng(count)
    u, offsets = rng.uniform(0.2, 0.8, count), rng.uniform(0.0, 4.0, count)
    covariance = covariances(rng, count, 0.1, 1.0) if full else np.eye(3) * u[:, None, None] ** 2
    angle = np.linspace(0.3, 4.4, count)
    lifts = side * offsets
    flat = np.column_stack([215.0 * np.cos(angle), 215.0 * np.sin(angle), lifts])
    noise = np.einsum("kij,kj->ki", np.linalg.cholesky(covariance), rng.normal(size=(count, 3)))
    places = RIM(flat) + noise
    spread = covariance if full else u**2
    ours = fit_circle_edge(
        with_slopes(places), spread, RIM.rotation[:, 2], offsets=offsets.tolist(), side=side
    )
    theirs, squares = theirs_edge(places, covariance, lifts)
    found = edge_numbers(ours)
    assert found[[0, 1, 2, 6]] == pytest.approx(theirs[[0, 1, 2, 6]], abs=1e-5)
    assert found[3:6] == pytest.approx(theirs[3:6], abs=1e-7)
    assert ours.chi_square == pytest.approx(squares, rel=1e-7, abs=1e-9)

    def refit(moved: Floats) -> Floats:
        return theirs_edge(moved, covariance, lifts)[0]

    numeric = by_differences(refit, places, 0.05)
    slopes = edge_slopes(ours)
    assert slopes[[0, 1, 2, 6]] == pytest.approx(numeric[[0, 1, 2, 6]], abs=2e-4)
    assert slopes[3:6] == pytest.approx(numeric[3:6], abs=2e-6)
