"""Line and plane fits against scikit-spatial, an independent library."""

import numpy as np
import pytest
from skspatial.objects import Line as TheirLine
from skspatial.objects import Plane as TheirPlane

from app.geometry.lines import distance, fit_line
from app.geometry.planes import distance as height
from app.geometry.planes import fit_plane


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
