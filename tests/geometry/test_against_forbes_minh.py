"""Points built round a known answer, which a true maximum-likelihood fit must give back.

Method: A. B. Forbes and H. D. Minh, "Generation of numerical artefacts for geometric form and
tolerance assessment", Int. J. Metrol. Qual. Eng. 3 (2012) 145-150: residuals are drawn, and what
of them the fit could follow is taken out. The points of tests/published were so built beforehand;
the others here, each with its own answer, and large residuals, where a fit of another sum of
squares goes wrong.
"""

from collections.abc import Callable
from typing import Any, Literal

import numpy as np
import pytest

from app.geometry.circle_edge import fit_circle_edge
from app.geometry.line_fit import fit_line
from app.geometry.mean_point import fit_point
from tests.geometry.measured import Floats, as_they_are, covariances, random_motion

Published = Callable[[str, str], dict[str, Any]]


def unfollowed(rng: np.random.Generator, jacobian: Floats) -> Floats:
    """Numbers at random (rows,) of which jacobian^T (p, rows) makes nothing."""
    drawn = rng.normal(size=len(jacobian))
    drawn -= jacobian @ np.linalg.lstsq(jacobian, drawn, rcond=None)[0]
    return np.asarray(drawn)


def test_the_line_of_the_published_artefact(published: Published) -> None:
    case = published("lines_and_planes", "constructed-line3d-8pt")
    points, answer = np.array(case["inputs"]["points_mm"]), case["answer"]
    line = fit_line(as_they_are(points), np.full(8, 0.01), answer["direction"])
    assert line.direction.value == pytest.approx(answer["direction"], abs=1e-9)
    assert line.point.value == pytest.approx(answer["point(centroid)"], abs=1e-8)
    assert line.chi_square == pytest.approx(answer["sum_of_squares"] / 0.01, rel=1e-7)
    assert line.degrees_of_freedom == 12


def test_the_circle_of_the_published_artefact(published: Published) -> None:
    case = published("circles", "constructed-circle3d-10pt")
    points, answer = np.array(case["inputs"]["points_mm"]), case["answer"]
    edge = fit_circle_edge(as_they_are(points), np.full(10, 0.01), answer["normal"])
    assert edge.centre.value == pytest.approx(answer["centre"], abs=1e-7)
    assert edge.normal.value == pytest.approx(answer["normal"], abs=1e-9)
    assert edge.radius.value == pytest.approx(answer["radius"], abs=1e-7)
    assert edge.degrees_of_freedom == 14


@pytest.mark.parametrize("seed", range(5))
def test_a_line_among_points_of_any_covariance(seed: int) -> None:
    """True places q on the line, and pulls l across it with sum of l and of l z nothing: then
    p = q + C l has the line as its answer, whatever the covariances C."""
    rng = np.random.default_rng(seed)
    move = random_motion(rng)
    spread = covariances(rng, 6, 0.2, 3.0)
    along = np.sort(rng.uniform(-150.0, 150.0, 6))
    design = np.column_stack([np.ones(6), along])
    pull = np.zeros((6, 3))
    pull[:, 0], pull[:, 1] = unfollowed(rng, design), unfollowed(rng, design)
    places = np.outer(along, [0.0, 0.0, 1.0]) + np.einsum("kij,kj->ki", spread, pull)
    turned = move.rotation @ spread @ move.rotation.T
    line = fit_line(as_they_are(move(places)), turned, move.rotation[:, 2])
    assert line.direction.value == pytest.approx(move.rotation[:, 2], abs=1e-11)
    across = move.rotation[:, :2].T @ (line.point.value - move.translation)
    assert across == pytest.approx(np.zeros(2), abs=1e-8)
    expected = np.einsum("ki,kij,kj->", pull, spread, pull)
    assert line.chi_square == pytest.approx(expected, rel=1e-9)
    assert expected > 5.0


@pytest.mark.parametrize("side", [1, -1])
@pytest.mark.parametrize("seed", range(4))
def test_a_circle_among_points_of_different_weight(seed: int, side: Literal[-1, 1]) -> None:
    """Axial and radial residuals, weighted, that centre, tilt and radius cannot follow."""
    rng = np.random.default_rng(seed)
    move = random_motion(rng)
    count = 7
    angle = np.sort(rng.uniform(0.0, 4.5, count))
    out = np.column_stack([np.cos(angle), np.sin(angle), np.zeros(count)])
    u, offsets = rng.uniform(0.2, 1.5, count), rng.uniform(0.0, 4.0, count)
    centre_and_tilts = np.column_stack([np.ones(count), out[:, :2]]) / u[:, np.newaxis]
    axial = unfollowed(rng, centre_and_tilts) * u
    # A tilt moves a point that lies off the edge's plane, by its offset, also out or in.
    leaning = offsets[:, np.newaxis] * out[:, :2] / u[:, np.newaxis]
    radial = unfollowed(rng, np.column_stack([centre_and_tilts, leaning])) * u
    places = (160.0 + radial)[:, np.newaxis] * out
    places[:, 2] = axial + side * offsets
    edge = fit_circle_edge(
        as_they_are(move(places)),
        u**2,
        move.rotation[:, 2],
        offsets=offsets.tolist(),
        side=side,
    )
    assert edge.centre.value == pytest.approx(move.translation, abs=1e-8)
    assert edge.normal.value == pytest.approx(move.rotation[:, 2], abs=1e-11)
    assert edge.radius.value == pytest.approx(160.0, abs=1e-9)
    expected = np.sum((axial / u) ** 2 + (radial / u) ** 2)
    assert edge.chi_square == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("seed", range(4))
def test_a_circle_among_points_of_any_covariance(seed: int) -> None:
    """True places q on the lifted circle, and pulls l along normal and radius that add up to
    nothing by every unknown: then p = q + C l has the circle as its answer, exactly."""
    rng = np.random.default_rng(seed)
    move = random_motion(rng)
    spread = covariances(rng, 7, 0.2, 1.5)
    angle, lifts = np.sort(rng.uniform(0.0, 4.5, 7)), rng.uniform(0.0, 4.0, 7)
    out = np.column_stack([np.cos(angle), np.sin(angle), np.zeros(7)])
    true = 160.0 * out
    true[:, 2] = lifts
    axial, radial = np.zeros((7, 6)), np.zeros((7, 6))
    axial[:, 2], axial[:, 3:5] = 1.0, 160.0 * out[:, :2]
    radial[:, :2], radial[:, 3:5], radial[:, 5] = out[:, :2], -lifts[:, None] * out[:, :2], 1.0
    by_axial, by_radial = unfollowed(rng, np.concatenate((axial, radial))).reshape(2, 7)
    pull = by_radial[:, np.newaxis] * out
    pull[:, 2] = by_axial
    places = true + np.einsum("kij,kj->ki", spread, pull)
    turned = move.rotation @ spread @ move.rotation.T
    edge = fit_circle_edge(
        as_they_are(move(places)), turned, move.rotation[:, 2], offsets=lifts.tolist()
    )
    assert edge.centre.value == pytest.approx(move.translation, abs=1e-8)
    assert edge.normal.value == pytest.approx(move.rotation[:, 2], abs=1e-11)
    assert edge.radius.value == pytest.approx(160.0, abs=1e-9)
    expected = np.einsum("ki,kij,kj->", pull, spread, pull)
    assert edge.chi_square == pytest.approx(expected, rel=1e-8)
    assert expected > 1.0


def test_a_point_among_places_of_any_covariance() -> None:
    rng = np.random.default_rng(3)
    spread = covariances(rng, 5, 0.2, 3.0)
    pull = rng.normal(size=(5, 3))
    pull -= pull.mean(axis=0)
    places = np.array([400.0, -20.0, 7.0]) + np.einsum("kij,kj->ki", spread, pull)
    point = fit_point(as_they_are(places), spread)
    assert point.point.value == pytest.approx([400.0, -20.0, 7.0], abs=1e-11)
    assert point.chi_square == pytest.approx(np.einsum("ki,kij,kj->", pull, spread, pull), rel=1e-9)
