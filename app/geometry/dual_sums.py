"""Many sums and scalar products of dual vectors at once, for fewer and larger array operations."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from app.geometry.dual import Floats, Scalar, Vector, difference, dot


@dataclass(slots=True, eq=False)
class Scalars:
    """Several numbers of one state. value: (k,) or (k, trials); slopes: (k, n) or None."""

    value: Floats
    slopes: Floats | None = None

    def __sub__(self, other: Scalar) -> "Scalars":
        """Each less the same number."""
        return Scalars(self.value - other.value, difference(self.slopes, other.slopes))

    def less(self, numbers: Floats) -> "Scalars":
        """Each less a plain number of its own; numbers: (k,)."""
        numbers = numbers if self.value.ndim == 1 else numbers[:, np.newaxis]
        return Scalars(self.value - numbers, self.slopes)

    def each(self) -> list[Scalar]:
        """One by one."""
        values = self.value.tolist() if self.value.ndim == 1 else list(self.value)
        if self.slopes is None:
            return [Scalar(value) for value in values]
        return [Scalar(value, slopes) for value, slopes in zip(values, self.slopes, strict=True)]


def stacked(vectors: Sequence[Vector]) -> tuple[Floats, Floats | None]:
    """Values (m, 3) and slopes (m, 3, n) of m vectors; None where none of them has slopes."""
    slopes = _slopes(vectors)
    values = np.array([vector.value for vector in vectors])
    return values, np.array(slopes) if slopes else None


def combined(weights: Floats, vectors: Sequence[Vector]) -> Vector:
    """The sum of vectors, one or more, each times its weight (m,)."""
    return combinations(weights[np.newaxis], vectors)[0]


def combinations(weights: Floats, vectors: Sequence[Vector]) -> list[Vector]:
    """Several sums of the same vectors, one or more, by their weights (k, m)."""
    if over_trials(vectors):
        columns = [v.value if v.value.ndim > 1 else v.value[:, np.newaxis] for v in vectors]
        return [
            Vector(sum([w * c for w, c in zip(row, columns, strict=True)]))
            for row in weights.tolist()
        ]
    values, slopes = stacked(vectors)
    sums = weights.dot(values)
    if slopes is None:
        return [Vector(value) for value in sums]
    by_input = weights.dot(slopes.reshape(len(slopes), -1)).reshape(len(sums), 3, -1)
    return [Vector(value, slope) for value, slope in zip(sums, by_input, strict=True)]


def products(directions: Sequence[Vector], vectors: Sequence[Vector]) -> list[Scalars]:
    """For each direction its scalar products with the vectors, one or more of both."""
    if over_trials((*directions, *vectors)):
        return [_products_over_trials(direction, vectors) for direction in directions]
    rows = np.array([direction.value for direction in directions])
    columns = np.array([vector.value for vector in vectors])
    values = rows.dot(columns.T)
    by_rows, by_columns = _slopes(directions), _slopes(vectors)
    if not (by_rows or by_columns):
        return [Scalars(value) for value in values]
    slopes: Floats = columns @ np.array(by_rows) if by_rows else np.zeros(1)
    if by_columns:
        side_by_side = np.concatenate(by_columns, axis=1)
        slopes = slopes + rows.dot(side_by_side).reshape(*values.shape, -1)
    return [Scalars(value, slope) for value, slope in zip(values, slopes, strict=True)]


def _slopes(vectors: Sequence[Vector]) -> list[Floats]:
    """(3, n) of each, zeros for a constant; empty where all are constants."""
    known = [vector.slopes for vector in vectors if vector.slopes is not None]
    if len(known) in (0, len(vectors)):
        return known
    none = np.zeros_like(known[0])
    return [none if vector.slopes is None else vector.slopes for vector in vectors]


def _products_over_trials(direction: Vector, vectors: Sequence[Vector]) -> Scalars:
    found = [dot(direction, vector).value for vector in vectors]
    return Scalars(np.array(np.broadcast_arrays(*found)))


def over_trials(vectors: Sequence[Vector]) -> bool:
    """Whether any of the vectors, one or more, is."""
    return max([vector.value.ndim for vector in vectors]) > 1
