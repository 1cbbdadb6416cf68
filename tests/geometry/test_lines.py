"""Lines in space: what the fit must do whatever the numbers are."""

import numpy as np
import pytest

from app.geometry.lines import distance, fit_line, foot


def test_a_replicate_and_a_double_weight_are_the_same() -> None:
    points = np.array([[0.0, 0.0, 0.0], [10.0, 0.3, 0.0], [20.0, 0.0, 0.1], [30.0, 0.1, 0.0]])
    twice = fit_line(np.vstack([points, points[1:2]]))
    weighted = fit_line(points, [1.0, 2.0, 1.0, 1.0])
    assert weighted.point == pytest.approx(twice.point, abs=1e-12)
    assert abs(weighted.direction @ twice.direction) == pytest.approx(1.0, abs=1e-14)


def test_foot_and_distance_of_one_and_of_many_points() -> None:
    line = fit_line(np.array([[0.0, 0.0, 5.0], [10.0, 0.0, 5.0]]))
    one = np.array([3.0, 4.0, 8.0])
    assert foot(line, one) == pytest.approx([3.0, 0.0, 5.0], abs=1e-14)
    assert distance(line, one) == pytest.approx(5.0, abs=1e-14)
    assert distance(line, np.array([one, [7.0, 0.0, 5.0]])) == pytest.approx([5.0, 0.0], abs=1e-14)


def test_one_point_is_no_line() -> None:
    with pytest.raises(ValueError, match="two points"):
        fit_line(np.zeros((1, 3)))
