"""Geometric circle fits with published answers; numbers in tests/published/circles.json."""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from app.geometry.circles import Circle, fit_circle

Published = Callable[[str, str], dict[str, Any]]
Printed = Callable[[str], Any]


def flat_circle(case: dict[str, Any]) -> Circle:
    points = np.array(case["inputs"]["points"])
    return fit_circle(np.column_stack([points, np.zeros(len(points))]))


def test_six_points_agree_with_gander_golub_and_strebel(
    published: Published, printed: Printed
) -> None:
    """BIT 34 (1994) 558-578: centre (4.7398, 2.9835), radius 4.7142 (answer from memory)."""
    case = published("circles", "circle-gander-golub-strebel-1994")
    circle = flat_circle(case)
    x, y, radius = case["published"]["geometric_fit(xc,yc,r)"]
    assert circle.centre[0] == printed(x)
    assert circle.centre[1] == printed(y)
    assert circle.radius == printed(radius)


@pytest.mark.parametrize("case_name", ["circle-scipy-cookbook-full", "circle-scipy-cookbook-arc"])
def test_circles_agree_with_the_scipy_cookbook(
    published: Published, printed: Printed, case_name: str
) -> None:
    """SciPy Cookbook, "Least squares circle", the converged rows; an algebraic fit would fail."""
    case = published("circles", case_name)
    circle = flat_circle(case)
    x, y, radius = case["published"]["geometric(xc,yc,r)"]
    assert circle.centre[0] == printed(x)
    assert circle.centre[1] == printed(y)
    assert circle.radius == printed(radius)
    points = np.array(case["inputs"]["points"])
    away = np.linalg.norm(points - circle.centre[:2], axis=1) - circle.radius
    assert np.sum(away**2) == printed(case["published"]["geometric_residu"])


def test_circle_in_space_through_points_built_round_it(published: Published) -> None:
    """Residuals without any component along the fit, after Forbes and Minh (2012)."""
    case = published("circles", "constructed-circle3d-10pt")
    points, answer = np.array(case["inputs"]["points_mm"]), case["answer"]
    circle = fit_circle(points)
    assert circle.centre == pytest.approx(answer["centre"], abs=1e-7)
    assert circle.radius == pytest.approx(answer["radius"], abs=1e-7)
    assert np.cross(circle.normal, answer["normal"]) == pytest.approx(np.zeros(3), abs=1e-9)
