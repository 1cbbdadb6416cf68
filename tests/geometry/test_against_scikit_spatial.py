"""Line and plane fits against scikit-spatial, an independent library."""

import numpy as np
import pytest
from skspatial.objects import Line as TheirLine
from skspatial.objects import Plane as TheirPlane

from app.geometry import line_fit
from app.geometry.lines import distance, fit_line
from app.geometry.planes import distance as height
from app.geometry.planes import fit_plane
from tests.geometry.measured import as_they_are


@pytest.mark.parametrize("seed", range(5))
def test_line_agrees_with_scikit_spatial(seed: int) -> None:
    rng = np.random.default_rng(seed)
    direction = rng.normal(size=3)
    points = 500.0 * rng.normal(size=3) + np.outer(rng.uniform(-200.0, 200.0, 7), direction)
    points += rng.normal(size=points.shape)
    ours, theirs = fit_line(points), TheirLine.best_fit(points)
    assert isinstance(theirs, TheirLine)
    assert ours.point == pytest.approx(np.asarray(theirs.point), abs=1e-9)
    along = np.asarray(theirs.direction)
    assert np.cross(ours.direction, along) == pytest.approx(np.zeros(3), abs=1e-12)
    spot = rng.normal(size=3)
    assert distance(ours, spot) == pytest.approx(theirs.distance_point(spot), rel=1e-10)


@pytest.mark.parametrize("count", [2, 3, 8])
def test_likeliest_line_of_equal_variances_agrees_with_scikit_spatial(count: int) -> None:
    rng = np.random.default_rng(count)
    direction = np.array([0.6, 0.0, 0.8])
    points = np.outer(rng.uniform(-200.0, 200.0, count), direction) + rng.normal(size=(count, 3))
    ours = line_fit.fit_line(as_they_are(points), np.full(count, 0.04), direction)
    theirs = TheirLine.best_fit(points)
    assert isinstance(theirs, TheirLine)
    assert ours.point.value == pytest.approx(np.asarray(theirs.point), abs=1e-9)
    along = np.asarray(theirs.direction) * np.sign(np.asarray(theirs.direction) @ direction)
    assert ours.direction.value == pytest.approx(along, abs=1e-12)
    squares = sum(theirs.distance_point(point) ** 2 for point in points)
    assert ours.chi_square == pytest.approx(squares / 0.04, rel=1e-9, abs=1e-9)


@pytest.mark.parametrize("seed", range(5))
def test_plane_agrees_with_scikit_spatial(seed: int) -> None:
    rng = np.random.default_rng(seed)
    points = 500.0 * rng.normal(size=3) + 100.0 * rng.normal(size=(9, 2)) @ rng.normal(size=(2, 3))
    points += rng.normal(size=points.shape)
    ours, theirs = fit_plane(points), TheirPlane.best_fit(points)
    assert isinstance(theirs, TheirPlane)
    assert ours.point == pytest.approx(np.asarray(theirs.point), abs=1e-9)
    assert np.cross(ours.normal, np.asarray(theirs.normal)) == pytest.approx(np.zeros(3), abs=1e-12)
    spot = rng.normal(size=3)
    assert abs(height(ours, spot)) == pytest.approx(theirs.distance_point(spot), rel=1e-10)
