"""Many sums and scalar products of dual vectors at once, for fewer and larger array operations."""

from collections.abc import Sequence

import numpy as np

from app.geometry.dual import Floats, Scalar, Vector, dot


def combined(weights: Floats, vectors: Sequence[Vector]) -> Vector:
    """The sum of vectors, one or more, each times its weight (m,)."""
    return combinations(weights[np.newaxis], vectors)[0]


def combinations(weights: Floats, vectors: Sequence[Vector]) -> list[Vector]:
    """Several sums of the same vectors, one or more, by their weights (k, m)."""
    if max([vector.value.ndim for vector in vectors]) > 1:
        columns = [v.value if v.value.ndim > 1 else v.value[:, np.newaxis] for v in vectors]
        return [
            Vector(sum([w * c for w, c in zip(row, columns, strict=True)]))
            for row in weights.tolist()
        ]
    values = weights @ np.array([vector.value for vector in vectors])
    known = [i for i, vector in enumerate(vectors) if vector.slopes is not None]
    if not known:
        return [Vector(value) for value in values]
    parts = np.array([vectors[i].slopes for i in known])
    slopes = weights[:, known] @ parts.reshape(len(known), -1)
    return [Vector(v, s) for v, s in zip(values, slopes.reshape(len(values), 3, -1), strict=True)]


def products(directions: Sequence[Vector], vectors: Sequence[Vector]) -> list[list[Scalar]]:
    """For each vector its scalar products with the directions; many at once are faster."""
    by_direction = [one.slopes for one in directions if one.slopes is not None]
    by_vector = [one.slopes for one in vectors if one.slopes is not None]
    every = len(by_direction) == len(directions) > 0 and len(by_vector) == len(vectors) > 0
    if not every:
        return [[dot(direction, vector) for direction in directions] for vector in vectors]
    rows = np.array([one.value for one in directions])
    columns = np.array([one.value for one in vectors])
    slopes = rows @ np.array(by_vector)
    slopes += np.swapaxes(columns @ np.array(by_direction), 0, 1)
    values = (columns @ rows.T).tolist()
    return [
        [Scalar(value, slope) for value, slope in zip(*one, strict=True)]
        for one in zip(values, slopes, strict=True)
    ]
