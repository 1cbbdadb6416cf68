"""The steering axis of turning markers against the closed form of Gamage and Lasenby.

S. S. Hiniduma Udugama Gamage and J. Lasenby, J. Biomech. 35 (2002) 87-93 (formula from memory):
A m = b, A = 2 sum over markers of the covariance of its places, b likewise with their squares; the
axis is the eigenvector of A's smallest eigenvalue. Exact without noise, biased with it, so that
noisy markers are held against the known axis instead. Numbers in tests/published.
"""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from app.chassis.evaluate import evaluate
from tests.chassis.poses import Floats, Pose, random_motion, survey
from tests.chassis.turning import apart_deg, off, turned

Published = Callable[[str, str], dict[str, Any]]
CASE = ("turning_markers", "constructed-axis-of-rotation-gamage-lasenby")


def closed_form(markers: Floats) -> tuple[Floats, Floats]:
    """Axis and the point m from markers (frames, markers, 3)."""
    matrix, right = np.zeros((3, 3)), np.zeros(3)
    for places in markers.transpose(1, 0, 2):
        arms = places - places.mean(axis=0)
        squares = np.sum(places**2, axis=1)
        matrix += 2.0 * arms.T @ arms / len(places)
        right += arms.T @ (squares - squares.mean()) / len(places)
    sizes, vectors = np.linalg.eigh(matrix)
    known = vectors[:, 1:]
    return vectors[:, 0], known @ (known.T @ right / sizes[1:])


def test_the_closed_form_here_gives_the_published_answer(published: Published) -> None:
    case = published(*CASE)
    markers = np.array(case["inputs"]["markers_by_frame_mm"]).transpose(1, 0, 2)
    axis, m = closed_form(markers)
    assert abs(axis @ case["answer"]["axis"]) == pytest.approx(1.0, abs=1e-12)
    assert m == pytest.approx(case["answer"]["m"], abs=1e-6)


@pytest.mark.parametrize("seed", range(3))
def test_exact_markers_give_the_same_axis(published: Published, seed: int) -> None:
    """Wherever the instrument stands."""
    case = published(*CASE)
    rotation, shift = random_motion(seed)
    markers = np.array(case["inputs"]["markers_by_frame_mm"]).transpose(1, 0, 2) @ rotation.T
    axis, m = closed_form(markers)
    true = rotation @ case["inputs"]["true_axis"]
    found = turned(markers + shift, 0.1, true)
    assert found.direction == pytest.approx(axis * np.sign(axis @ true), abs=1e-9)
    assert found.direction == pytest.approx(true, abs=1e-9)
    assert off(found.point, found.direction, m + shift) == pytest.approx(0.0, abs=1e-6)
    on_axis = rotation @ case["inputs"]["true_axis_point"] + shift
    assert off(found.point, found.direction, on_axis) == pytest.approx(0.0, abs=1e-6)
    angles = np.radians(case["inputs"]["frames_deg"])
    assert found.angles == pytest.approx(angles - angles[0], abs=1e-9)


def test_noisy_markers_find_the_axis_as_well_as_they_claim_and_better(published: Published) -> None:
    """Squared tilt over its covariance has two degrees of freedom, so two on average; the closed
    form, which weighs no marker by its radius, lies farther off on average."""
    case = published(*CASE)
    exact = np.array(case["inputs"]["markers_by_frame_mm"]).transpose(1, 0, 2)
    true = np.array(case["inputs"]["true_axis"])
    rng = np.random.default_rng(4)
    squares, ours, theirs = [], [], []
    for _ in range(150):
        markers = exact + 0.1 * rng.normal(size=exact.shape)
        found = turned(markers, 0.1, true)
        tilt = found.across.T @ (found.direction - true)
        squares.append(tilt @ np.linalg.solve(found.covariance, tilt))
        axis = closed_form(markers)[0]
        ours.append(apart_deg(found.direction, true))
        theirs.append(apart_deg(axis * np.sign(axis @ true), true))
    # Mean of 150 of variance 4 each.
    assert np.mean(squares) == pytest.approx(2.0, abs=4.0 * 2.0 / np.sqrt(150.0))
    assert np.mean(np.square(ours)) < np.mean(np.square(theirs))


@pytest.mark.parametrize("seed", range(3))
def test_a_surveys_twist_and_distance_are_those_of_the_closed_form(seed: int) -> None:
    """The whole engine, wherever the instrument stands: head twist and axis distance from the
    closed form's axis and the two pivot points, by their definitions."""
    pose = Pose(twist=0.6, offset=1.5, angle=25.0)
    rotation, shift = random_motion(seed)
    measured = survey(pose.points(), motion=(rotation, shift))
    place = {
        (feature, label, station): xyz
        for feature, label, station, xyz in zip(
            measured.feature, measured.label, measured.station, measured.xyz, strict=True
        )
    }
    stations = [*pose.stations, *pose.returns]
    markers = np.array([[place["steer_target", t, s] for t in pose.targets] for s in stations])
    centre = markers.mean(axis=(0, 1))
    axis, m = closed_form(markers - centre)
    axis *= np.sign(axis @ rotation[:, 2])
    ends = [place["pivot", side, None] for side in ("left", "right")]
    left = (ends[0] - ends[1]) / np.linalg.norm(ends[0] - ends[1])
    flat = axis - (axis @ left) * left
    flat /= np.linalg.norm(flat)
    result = evaluate(measured, pose.reference())
    found = {item.key: item.value for item in result.characteristics}
    assert found["head_twist"] == pytest.approx(np.degrees(np.arcsin(-axis @ left)), abs=1e-7)
    distance = np.cross(left, flat) @ (m + centre - np.mean(ends, axis=0))
    assert found["axis_distance"] == pytest.approx(distance, abs=1e-6)
    assert found["axis_distance"] == pytest.approx(pose.distance, abs=1e-6)
