"""Right-handed local frames along a direction, for three numbers faster without arrays."""

import math
from collections.abc import Sequence

import numpy as np

from app.chassis.survey import Floats

Vector = tuple[float, float, float]


def dot(a: Vector, b: Vector) -> float:
    """The scalar product."""
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def cross(a: Vector, b: Vector) -> Vector:
    """The vector product, right-handed."""
    return (
        a[1] * b[2] - a[2] * b[1],
        a[2] * b[0] - a[0] * b[2],
        a[0] * b[1] - a[1] * b[0],
    )


def minus(a: Vector, b: Vector) -> Vector:
    """a - b."""
    return (a[0] - b[0], a[1] - b[1], a[2] - b[2])


def along(a: Vector, factor: float, direction: Vector) -> Vector:
    """a + factor * direction."""
    return (
        a[0] + factor * direction[0],
        a[1] + factor * direction[1],
        a[2] + factor * direction[2],
    )


def scaled(a: Vector, factor: float) -> Vector:
    """factor * a."""
    return (a[0] * factor, a[1] * factor, a[2] * factor)


def unit(a: Vector) -> Vector:
    """a at length one; a must not be zero."""
    return scaled(a, 1.0 / math.sqrt(dot(a, a)))


def components(arrow: Vector, axes: tuple[Vector, Vector, Vector]) -> Vector:
    """The scalar products of an arrow with three directions."""
    x, y, z = arrow
    (a, b, c), (d, e, f), (g, h, i) = axes
    return (x * a + y * b + z * c, x * d + y * e + z * f, x * g + y * h + z * i)


def mean(places: Sequence[Vector]) -> Vector:
    """The mean of places, at least one."""
    count = len(places)
    x, y, z = zip(*places, strict=True)
    return (sum(x) / count, sum(y) / count, sum(z) / count)


def vector(array: Floats) -> Vector:
    """An array (3,) as plain floats."""
    x, y, z = array.tolist()
    return (x, y, z)


def columns_of(frame: Floats) -> tuple[Vector, Vector, Vector]:
    """The three directions of a frame (3, 3)."""
    (a, d, g), (b, e, h), (c, f, i) = frame.tolist()
    return (a, b, c), (d, e, f), (g, h, i)


def frame_along(direction: Vector) -> Floats:
    """(3, 3): columns are two directions square to the given unit vector, and that vector."""
    x, y, z = (abs(component) for component in direction)
    axis = (1.0, 0.0, 0.0) if x <= min(y, z) else (0.0, 1.0, 0.0) if y <= z else (0.0, 0.0, 1.0)
    first = unit(cross(axis, direction))
    second = cross(direction, first)
    return np.array((first, second, direction)).T
