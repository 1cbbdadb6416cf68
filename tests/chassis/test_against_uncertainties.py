"""The full covariance against the package `uncertainties`, from another statement of the problem.

Unknowns are estimated with numerical derivatives of rows written down anew (pivot axis by two
slopes; steering axis by slopes, targets by radius, height and phase); their covariances go into
`uncertainties`, which propagates through the definitions of the characteristics by its own
automatic derivatives. Faces, squareness, offset, scale and temperature enter as inputs of their
own. The survey has no noise, so that both linearisations stand at the same place.
"""

import math
from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
import pytest
from uncertainties import (  # type: ignore[import-untyped]
    correlated_values,
    covariance_matrix,
    ufloat,
    umath,
)

from app.chassis.evaluate import evaluate
from app.chassis.survey import Instrument
from tests.chassis.poses import Floats, Key, Pose, random_motion, survey

POSE = Pose(twist=0.6, offset=1.5, angle=24.4)
BALL = 3.0
INSTRUMENT = Instrument(0.1, 0.02, 20.0, BALL)
TEMPERATURE, STEEL = 28.0, 11.7e-6
SQUARENESS = math.radians(0.2)
FACES = [POSE.on_face(22.0, 40.0), POSE.on_face(24.0, -80.0), POSE.on_face(20.0, 170.0)]
STATIONS = {**POSE.stations, **POSE.returns}
Number = Any
Numbers = Sequence[Any]


def slopes_of(rows: Callable[[Floats], Floats], at: Floats) -> Floats:
    """Numerical derivatives with an error of the fourth order."""
    columns = []
    for k, value in enumerate(at):
        step = np.zeros_like(at)
        step[k] = 1e-3 * max(1e-1, abs(value) * 1e-2)
        one, two = rows(at + step) - rows(at - step), rows(at + 2 * step) - rows(at - 2 * step)
        columns.append((8.0 * one - two) / (12.0 * step[k]))
    return np.array(columns).T


def unknowns(rows: Callable[[Floats], Floats], at: Floats) -> Numbers:
    """The unknowns with the covariance that rows of unit variance leave them."""
    slopes = slopes_of(rows, at)
    return list(correlated_values(at, np.linalg.inv(slopes.T @ slopes)))


def dot(a: Numbers, b: Numbers) -> Number:
    return sum(x * y for x, y in zip(a, b, strict=True))


def cross(a: Numbers, b: Numbers) -> Numbers:
    return [
        a[1] * b[2] - a[2] * b[1],
        a[2] * b[0] - a[0] * b[2],
        a[0] * b[1] - a[1] * b[0],
    ]


def along(a: Numbers, factor: Number, b: Numbers) -> Numbers:
    return [x + factor * y for x, y in zip(a, b, strict=True)]


def unit(a: Numbers) -> Numbers:
    size = umath.sqrt(dot(a, a))
    return [x / size for x in a]


def solved(matrix: list[list[Number]], right: list[Number]) -> list[Number]:
    """Gauss's elimination, for numbers with uncertainty."""
    size = len(right)
    for k in range(size):
        for row in range(k + 1, size):
            factor = matrix[row][k] / matrix[k][k]
            matrix[row] = [x - factor * y for x, y in zip(matrix[row], matrix[k], strict=True)]
            right[row] = right[row] - factor * right[k]
    for k in reversed(range(size)):
        rest = sum(matrix[k][j] * right[j] for j in range(k + 1, size))
        right[k] = (right[k] - rest) / matrix[k][k]
    return right


def pivot_unknowns() -> Numbers:
    places = np.array([[0.0, 130.0, 0.0], [0.0, -130.0, 0.0]])

    def rows(p: Floats) -> Floats:
        beside = places[:, (0, 2)] - (p[2:] + np.outer(places[:, 1], p[:2]))
        return np.asarray(beside.ravel() / 0.1)

    return unknowns(rows, np.zeros(4))


def steering_unknowns() -> Numbers:
    seen = np.array([[POSE.target(name, a) for name in POSE.targets] for a in STATIONS.values()])
    up = POSE.up / POSE.up[2]

    def rows(p: Floats) -> Floats:
        axis = np.array([p[0], p[1], 1.0]) / math.sqrt(1.0 + p[0] ** 2 + p[1] ** 2)
        through = np.array([p[2], p[3], 380.0])
        ahead = np.cross([0.0, 1.0, 0.0], axis)
        ahead /= np.linalg.norm(ahead)
        left = np.cross(axis, ahead)
        radius, height, phase = p[4:10].reshape(2, 3).T
        turn = np.concatenate(([0.0], p[10:]))[:, np.newaxis] + phase
        modelled = (
            through
            + (radius * np.cos(turn))[:, :, np.newaxis] * ahead
            + (radius * np.sin(turn))[:, :, np.newaxis] * left
            + height[:, np.newaxis] * axis
        )
        return np.asarray((modelled - seen).ravel() / 0.1)

    targets = [(r, h, math.radians(a)) for r, a, h in POSE.targets.values()]
    turns = [math.radians(a) for a in list(STATIONS.values())[1:]]
    at = np.array([up[0], up[1], POSE.reach, POSE.offset, *np.ravel(targets), *turns])
    assert rows(at) == pytest.approx(np.zeros(36), abs=1e-9)
    return unknowns(rows, at)


def independent() -> dict[str, Number]:
    a, b, x, z = pivot_unknowns()
    left = unit([a, 1.0, b])
    axis = steering_unknowns()
    up = unit([axis[0], axis[1], 1.0])
    grown = (
        1.0
        + ufloat(0.0, INSTRUMENT.scale_u_ppm * 1e-6)
        - ufloat(0.0, 1.0) * STEEL / (1.0 + STEEL * 8.0)
        - ufloat(0.0, 1e-6) * 8.0 / (1.0 + STEEL * 8.0)
    )
    origin = [x * grown, 0.0, z * grown]
    through = [axis[2] * grown, axis[3] * grown, 380.0 * grown]
    lift = ufloat(0.0, INSTRUMENT.offset_u_mm)

    one = unit(cross(up, [0.0, 1.0, 0.0]))
    other = cross(up, one)
    arms = [
        [(value + ufloat(0.0, 0.1)) * grown - c for value, c in zip(place, through, strict=True)]
        for place in (face - BALL * POSE.up for face in FACES)
    ]
    design = [[1.0, dot(arm, one), dot(arm, other)] for arm in arms]
    heights = [dot(arm, up) + BALL + lift for arm in arms]
    tilts = [ufloat(0.0, SQUARENESS), ufloat(0.0, SQUARENESS)]
    normal = [[sum(row[i] * row[j] for row in design) / 0.01 for j in range(3)] for i in range(3)]
    right = [
        sum(row[i] * height for row, height in zip(design, heights, strict=True)) / 0.01
        for i in range(3)
    ]
    for k in (1, 2):
        normal[k][k] = normal[k][k] + SQUARENESS**-2
        right[k] = right[k] + tilts[k - 1] * SQUARENESS**-2
    h = along(through, solved(normal, right)[0], up)

    def face(place: Sequence[float], outward: float) -> Number:
        centre = (place[0], place[1] + outward * BALL, place[2])
        seen = [(value + ufloat(0.0, 0.1)) * grown for value in centre]
        lean = math.hypot(place[0], place[2]) * math.tan(SQUARENESS)
        return dot(left, seen) - outward * (BALL + lift) + ufloat(0.0, lean)

    left_face, right_face = face((10.0, 120.0, 12.0), 1.0), face((-8.0, -120.0, 15.0), -1.0)

    flat = unit(along(up, -dot(up, left), left))
    distance = dot(cross(left, flat), along(through, -1.0, origin))
    position = dot(flat, along(h, -1.0, origin))
    radius = umath.sqrt(distance**2 + position**2)
    elevation = umath.asin(380.0 / radius)
    degrees = 180.0 / math.pi
    return {
        "head_twist": umath.asin(-1.0 * dot(up, left)) * degrees,
        "head_offset": dot(left, h) - (left_face + right_face) / 2.0,
        "axis_distance": distance,
        "face_position": position,
        "head_reach": radius * umath.cos(elevation),
        "head_height": radius * umath.sin(elevation),
        "head_angle": (elevation - umath.atan2(position, distance)) * degrees,
        "pivot_width": left_face - right_face,
    }


def points(warm: float) -> list[tuple[Key, Floats]]:
    """Warm, with all measured places grown alike; on the faces the centre of a ball is measured."""
    outward = {"left": np.array([0.0, BALL, 0.0]), "right": np.array([0.0, -BALL, 0.0])}
    found = [
        (key, (xyz + (outward[str(key[1])] if key[0] == "pivot_face" else 0.0)) * warm)
        for key, xyz in POSE.points()
        if key[0] != "head_face"
    ]
    face = [(place - BALL * POSE.up) * warm for place in FACES]
    return found + [(("head_face", None, None), place) for place in face]


def test_the_full_covariance_agrees() -> None:
    warm = 1.0 + STEEL * (TEMPERATURE - 20.0)
    touched = points(warm)
    measured = survey(
        touched,
        instrument=INSTRUMENT,
        temperature=TEMPERATURE,
        motion=random_motion(5),
        u=np.full(len(touched), 0.1 * warm),
    )
    result = evaluate(measured, Pose().reference())
    expected = independent()
    keys = [key for key in expected if key != "head_height"]
    found = {item.key: item for item in result.characteristics}
    for key in keys:
        assert found[key].value == pytest.approx(expected[key].nominal_value, rel=1e-8, abs=1e-8)
        assert found[key].standard_uncertainty == pytest.approx(expected[key].std_dev, rel=1e-6)
    assert expected["head_height"].std_dev == pytest.approx(0.0, abs=1e-9)
    place = [result.covariance_keys.index(key) for key in keys]
    ours = result.covariance[np.ix_(place, place)]
    theirs = np.array(covariance_matrix([expected[key] for key in keys]))
    size = np.sqrt(np.outer(theirs.diagonal(), theirs.diagonal()))
    assert ours / size == pytest.approx(theirs / size, abs=1e-6)
