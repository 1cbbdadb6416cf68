"""Orthogonal line fit: Pearson's ten points, and points built round a known line.

Numbers in tests/published/lines_and_planes.json.
"""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from app.geometry.lines import distance, fit_line
from app.geometry.planes import distance as height
from app.geometry.planes import fit_plane

Published = Callable[[str, str], dict[str, Any]]
Printed = Callable[[str], Any]


def test_line_agrees_with_pearson(published: Published, printed: Printed) -> None:
    """K. Pearson, Phil. Mag. 2 (1901) 559-572: slope -0.5456 (data and slope from memory)."""
    case = published("lines_and_planes", "line-pearson-1901-orthogonal")
    flat = np.column_stack([case["inputs"]["x"], case["inputs"]["y"], np.zeros(10)])
    line = fit_line(flat)
    assert line.direction[1] / line.direction[0] == printed(case["published"]["slope"])
    assert line.direction[2] == pytest.approx(0.0, abs=1e-12)


def test_line_through_points_built_round_it(published: Published) -> None:
    """Residuals without any component along the fit, after Forbes and Minh (2012)."""
    case = published("lines_and_planes", "constructed-line3d-8pt")
    points, answer = np.array(case["inputs"]["points_mm"]), case["answer"]
    line = fit_line(points)
    assert abs(line.direction @ answer["direction"]) == pytest.approx(1.0, abs=1e-14)
    assert line.point == pytest.approx(answer["point(centroid)"], abs=1e-8)
    assert np.sum(distance(line, points) ** 2) == pytest.approx(answer["sum_of_squares"], abs=1e-8)


def test_plane_through_points_built_round_it(published: Published) -> None:
    """Residuals without any component along the fit, after Forbes and Minh (2012)."""
    case = published("lines_and_planes", "constructed-plane-8pt")
    points, answer = np.array(case["inputs"]["points_mm"]), case["answer"]
    plane = fit_plane(points)
    assert np.cross(plane.normal, answer["normal"]) == pytest.approx(np.zeros(3), abs=1e-7)
    assert plane.point == pytest.approx(answer["point_on_plane(centroid)"], abs=1e-8)
    assert np.sum(height(plane, points) ** 2) == pytest.approx(answer["sum_of_squares"], abs=1e-8)
