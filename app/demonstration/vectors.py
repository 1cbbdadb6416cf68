"""The little vector algebra that the simulator needs, written out."""

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]


def unit(vector: ArrayLike) -> Floats:
    """The vector divided by its length."""
    array = np.asarray(vector, dtype=float)
    scaled: Floats = array / math.sqrt(float(array @ array))
    return scaled


def turned(rotation: ArrayLike) -> Floats:
    """(3, 3): the rotation about the vector's direction by its length (Rodrigues' formula)."""
    vector = np.asarray(rotation, dtype=float)
    angle = float(np.linalg.norm(vector))
    if angle == 0.0:
        return np.eye(3)
    x, y, z = vector / angle
    cross = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
    rotated: Floats = np.eye(3) + math.sin(angle) * cross + (1 - math.cos(angle)) * cross @ cross
    return rotated


def crossed(one: ArrayLike, other: ArrayLike) -> Floats:
    """The vector product of two vectors; NumPy's own is slow for single ones."""
    ax, ay, az = np.asarray(one, dtype=float).tolist()
    bx, by, bz = np.asarray(other, dtype=float).tolist()
    return np.array([ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx])
