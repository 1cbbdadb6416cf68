"""Axes and planes against scikit-spatial's own fits."""

import math

import numpy as np
import pytest
from skspatial.objects import Line, Plane

from app.chassis.estimate import estimate, found_axes
from app.chassis.evaluate import evaluate
from app.chassis.preparation import prepare
from app.chassis.stacking import stack
from tests.chassis.poses import Floats, Key, Pose, survey

POSE = Pose(twist=0.7, angle=25.0)


def bored(seed: int) -> tuple[list[tuple[Key, Floats]], Floats, Floats]:
    """Six points on each axis, scattered; the places as an instrument would give them."""
    rng = np.random.default_rng(seed)
    pivots = np.array([[0.0, y, 0.0] for y in (-130.0, -90.0, -40.0, 30.0, 80.0, 130.0)])
    bores = np.array([POSE.on_bore(h) for h in (0.0, 20.0, 60.0, 90.0, 120.0, 140.0)])
    pivots, bores = (p + rng.normal(0.0, 0.1, p.shape) for p in (pivots, bores))
    labels = ["right", None, None, None, None, "left"]
    points: list[tuple[Key, Floats]] = [
        (("pivot", label, None), place) for label, place in zip(labels, pivots, strict=True)
    ]
    points += [(("head_bore", f"b{k}", None), place) for k, place in enumerate(bores)]
    return points, pivots, bores


@pytest.mark.parametrize("seed", range(4))
def test_both_axes_agree_with_the_best_lines(seed: int) -> None:
    points, pivots, bores = bored(seed)
    prepared = prepare(survey(points), POSE.reference())
    pivot, steering = found_axes(prepared, estimate(stack(prepared)))
    assert steering is not None
    centre = pivots.mean(axis=0)
    for axis, places in ((pivot, pivots), (steering, bores)):
        best = Line.best_fit(places)
        assert isinstance(best, Line)
        along = np.array(axis.direction)
        assert abs(along @ best.direction.unit()) == pytest.approx(1.0, abs=1e-12)
        assert np.cross(along, best.direction.unit()) == pytest.approx(np.zeros(3), abs=1e-9)
        beside = best.distance_point(np.array(axis.point) + centre)
        assert beside == pytest.approx(0.0, abs=1e-7)


@pytest.mark.parametrize("degrees", [0.5, 1.5, 4.0])
def test_the_tilt_of_the_face_agrees_with_the_best_plane(degrees: float) -> None:
    at = ((40.0, 0.0), (35.0, 80.0), (45.0, 200.0), (38.0, 290.0))
    flat = [POSE.on_face(radius, azimuth) for radius, azimuth in at]
    tilt = math.radians(degrees)
    across = np.cross([0.0, 1.0, 0.0], POSE.up)
    across /= np.linalg.norm(across)
    turned = [p + POSE.up * math.tan(tilt) * ((p - POSE.head) @ across) for p in flat]
    points = [p for p in POSE.points() if p[0][0] != "head_face"]
    points += [(("head_face", None, None), p) for p in turned]
    result = evaluate(survey(points), POSE.reference())
    (found,) = (c.value for c in result.characteristics if c.key == "face_squareness")
    best = Plane.best_fit(turned)
    assert isinstance(best, Plane)
    normal = best.normal.unit()
    expected = math.degrees(math.acos(min(1.0, abs(float(normal @ POSE.up)))))
    assert expected == pytest.approx(degrees, abs=1e-9)
    assert found == pytest.approx(expected, abs=1e-8)
