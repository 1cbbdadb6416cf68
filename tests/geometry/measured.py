"""Points as the fits take them: with derivatives by every coordinate, as they are, over trials."""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from app.geometry.circle_edge import FittedEdge
from app.geometry.dual import Vector
from app.geometry.line_fit import FittedLine
from app.geometry.rigid import Rigid

Floats = NDArray[np.float64]


def with_slopes(places: Floats) -> list[Vector]:
    """places: (k, 3); slopes by all 3 k coordinates."""
    columns = np.eye(places.size).reshape(len(places), 3, places.size)
    return [Vector(place, slopes) for place, slopes in zip(places, columns, strict=True)]


def as_they_are(places: Floats) -> list[Vector]:
    """places: (k, 3), or (k, 3, trials)."""
    return [Vector(place) for place in places]


def line_numbers(line: FittedLine) -> Floats:
    return np.concatenate((line.point.value, line.direction.value))


def line_slopes(line: FittedLine) -> Floats:
    assert line.point.slopes is not None
    assert line.direction.slopes is not None
    return np.concatenate((line.point.slopes, line.direction.slopes))


def edge_numbers(edge: FittedEdge) -> Floats:
    return np.concatenate((edge.centre.value, edge.normal.value, np.atleast_1d(edge.radius.value)))


def edge_slopes(edge: FittedEdge) -> Floats:
    assert edge.centre.slopes is not None
    assert edge.normal.slopes is not None
    assert edge.radius.slopes is not None
    return np.concatenate((edge.centre.slopes, edge.normal.slopes, [edge.radius.slopes]))


def by_differences(fit: Callable[[Floats], Floats], places: Floats, step: float = 1e-3) -> Floats:
    """(m, 3 k): central differences of the m results of a fit by every coordinate, refitted."""
    changes = step * np.eye(places.size).reshape(places.size, *places.shape)
    grown = [fit(places + change) - fit(places - change) for change in changes]
    return np.stack(grown, axis=1) / (2.0 * step)


def covariances(rng: np.random.Generator, count: int, small: float, large: float) -> Floats:
    """(k, 3, 3): standard uncertainties between the two, in directions at random."""
    axes = np.linalg.qr(rng.normal(size=(count, 3, 3)))[0]
    variances = rng.uniform(small, large, (count, 1, 3)) ** 2
    return np.asarray((axes * variances) @ axes.transpose(0, 2, 1))


def random_motion(rng: np.random.Generator) -> Rigid:
    """Any turn, and a shift of up to 10 m."""
    turn = np.linalg.qr(rng.normal(size=(3, 3)))[0]
    turn *= np.sign(np.linalg.det(turn))
    shift = rng.normal(size=3)
    return Rigid(turn, 10_000.0 * shift / np.linalg.norm(shift) * rng.uniform())
