"""Rigid transformations: turning and shifting without scaling."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Rigid:
    rotation: Floats
    """(d, d), with determinant +1."""
    translation: Floats
    """(d,), mm."""

    def __call__(self, points: Floats) -> Floats:
        """The points, (d,) or (n, d), turned and then shifted."""
        moved: Floats = points @ self.rotation.T + self.translation
        return moved


def superpose(moving: Floats, fixed: Floats, weights: ArrayLike | None = None) -> Rigid:
    """The rigid transformation that brings `moving` nearest to `fixed`, point by point.

    moving, fixed: (n, d), mm, d of 2 or 3; weights: (n,), default equal. Minimises the weighted
    sum of squared distances, never with a mirror image. Formula: S. Umeyama, IEEE PAMI 13 (1991)
    376-380, with scale 1. Raises ValueError when the points do not determine the turn.
    """
    weight = np.ones(len(moving)) if weights is None else np.asarray(weights, dtype=float)
    weight = weight / np.sum(weight)
    from_centre, to_centre = weight @ moving, weight @ fixed
    spread = (fixed - to_centre).T @ ((moving - from_centre) * weight[:, np.newaxis])
    left, sizes, right = np.linalg.svd(spread)
    if sizes[-2] <= 1e-12 * sizes[0]:
        raise ValueError("the points do not determine the turn")
    signs = np.ones(len(sizes))
    signs[-1] = np.sign(np.linalg.det(left) * np.linalg.det(right))
    rotation = (left * signs) @ right
    return Rigid(rotation, to_centre - rotation @ from_centre)
