"""Places and shapes in machine axes, mm: X forward, Y to the left, Z up."""

import math
from dataclasses import dataclass

Place = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Shape:
    """One element as it is drawn: machine axes, mm, deviations already exaggerated."""

    name: str
    kind: str
    points: tuple[Place, ...]
    radius: float | None


def plus(a: Place, b: Place) -> Place:
    """a + b."""
    return (a[0] + b[0], a[1] + b[1], a[2] + b[2])


def minus(a: Place, b: Place) -> Place:
    """a − b."""
    return (a[0] - b[0], a[1] - b[1], a[2] - b[2])


def dot(a: Place, b: Place) -> float:
    """a · b."""
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def cross(a: Place, b: Place) -> Place:
    """a × b."""
    return (
        a[1] * b[2] - a[2] * b[1],
        a[2] * b[0] - a[0] * b[2],
        a[0] * b[1] - a[1] * b[0],
    )


def unit(vector: Place) -> Place:
    """The vector at length 1."""
    length = math.hypot(*vector) or 1.0
    return (vector[0] / length, vector[1] / length, vector[2] / length)
