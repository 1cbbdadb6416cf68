"""Planes in space: what the fit must do whatever the numbers are."""

import numpy as np
import pytest

from app.geometry.planes import distance, fit_plane


def test_a_replicate_and_a_double_weight_are_the_same() -> None:
    points = np.array([[0.0, 0.0, 0.1], [50.0, 0.0, 0.0], [0.0, 50.0, 0.0], [50.0, 50.0, 0.3]])
    twice = fit_plane(np.vstack([points, points[3:]]))
    weighted = fit_plane(points, [1.0, 1.0, 1.0, 2.0])
    assert weighted.point == pytest.approx(twice.point, abs=1e-12)
    assert abs(weighted.normal @ twice.normal) == pytest.approx(1.0, abs=1e-14)


def test_distance_is_along_the_normal() -> None:
    plane = fit_plane(np.array([[0.0, 0.0, 2.0], [9.0, 0.0, 2.0], [0.0, 7.0, 2.0]]))
    high = distance(plane, np.array([[1.0, 1.0, 5.0], [4.0, -2.0, 2.0]])) * plane.normal[2]
    assert high == pytest.approx([3.0, 0.0], abs=1e-14)


def test_two_points_are_no_plane() -> None:
    with pytest.raises(ValueError, match="three points"):
        fit_plane(np.zeros((2, 3)))
