"""How the pivot axis truly lies against the frame's control points.

The rigid placement is found as the eigenvector of a 4 by 4 matrix, the unit quaternion that fits
best, so that it shares nothing with a placement by singular vectors.
"""

import math
from collections.abc import Iterator, Mapping

import numpy as np

from app.demonstration.machine import Triple
from app.demonstration.vectors import Floats

NOT_IN_LINE_MM = 20.0


def datum_against(
    measured: Mapping[str, Triple], nominal: Mapping[str, Triple], weights: Mapping[str, float]
) -> Iterator[tuple[str, float]]:
    """Roll and yaw of the pivot axis and the shift of O, in the frame of the control points.

    Nothing where the control points lie nearly in line.
    """
    names = list(measured)
    here = np.array([measured[name] for name in names])
    there = np.array([nominal[name] for name in names])
    spread = np.linalg.eigvalsh((there - there.mean(0)).T @ (there - there.mean(0)))
    if math.sqrt(max(float(spread[1]), 0.0)) <= NOT_IN_LINE_MM:
        return
    weight = np.array([weights.get(name, 1.0) for name in names])
    rotation, shift = placed(here, there, weight)
    left = rotation[:, 1]
    yield "datum_roll", math.degrees(math.atan(left[2] / left[1]))
    yield "datum_yaw", -math.degrees(math.atan(left[0] / left[1]))
    yield "datum_shift", float(shift[1])


def placed(here: Floats, there: Floats, weight: Floats) -> tuple[Floats, Floats]:
    """Rotation (3, 3) and shift (3,) that take `here` (n, 3) onto `there` best."""
    share = weight / weight.sum()
    middle, goal = share @ here, share @ there
    s = ((here - middle) * share[:, np.newaxis]).T @ (there - goal)
    skew = np.array([s[1, 2] - s[2, 1], s[2, 0] - s[0, 2], s[0, 1] - s[1, 0]])
    matrix = np.zeros((4, 4))
    matrix[0, 0] = np.trace(s)
    matrix[0, 1:] = matrix[1:, 0] = skew
    matrix[1:, 1:] = s + s.T - np.trace(s) * np.eye(3)
    rotation = _of_quaternion(np.linalg.eigh(matrix)[1][:, -1])
    return rotation, goal - rotation @ middle


def _of_quaternion(quaternion: Floats) -> Floats:
    w, x, y, z = quaternion.tolist()
    return np.array(
        [
            [1 - 2 * (y * y + z * z), 2 * (x * y - w * z), 2 * (x * z + w * y)],
            [2 * (x * y + w * z), 1 - 2 * (x * x + z * z), 2 * (y * z - w * x)],
            [2 * (x * z - w * y), 2 * (y * z + w * x), 1 - 2 * (x * x + y * y)],
        ]
    )
