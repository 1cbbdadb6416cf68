"""Weighted sums of many dual vectors at once, for fewer and larger array operations."""

from collections.abc import Sequence

import numpy as np

from app.geometry.dual import Floats, Vector


def stacked(vectors: Sequence[Vector]) -> tuple[Floats, Floats | None]:
    """Values (m, 3) and slopes (m, 3, n) of m vectors; None where none of them has slopes."""
    values = np.array([vector.value for vector in vectors])
    known = [vector.slopes for vector in vectors if vector.slopes is not None]
    if not known:
        return values, None
    if len(known) == len(vectors):
        return values, np.array(known)
    none = np.zeros_like(known[0])
    return values, np.array([none if one.slopes is None else one.slopes for one in vectors])


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


def over_trials(vectors: Sequence[Vector]) -> bool:
    """Whether any of the vectors, one or more, is."""
    return max([vector.value.ndim for vector in vectors]) > 1
