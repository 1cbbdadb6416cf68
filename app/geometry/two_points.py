"""Lines through two points each: many at once, or one over many trials."""

from typing import NamedTuple

import numpy as np

from app.geometry.dual import Floats


class Joins(NamedTuple):
    """point, direction: (3, w); shares: (2, w), of both ends in the point; by_arm: (w,), one over
    the length, negative where the direction points from the second end to the first."""

    point: Floats
    direction: Floats
    shares: Floats
    by_arm: Floats

    def local(self) -> Floats:
        """(w, 6, 6): derivatives of point and direction by both ends."""
        identity = np.eye(3)[..., np.newaxis]
        across = (identity - self.direction[:, np.newaxis] * self.direction) * self.by_arm
        found = np.empty((2, 3, 2, 3, len(self.by_arm)))
        found[0] = identity[:, np.newaxis] * self.shares[:, np.newaxis]
        found[1, :, 0], found[1, :, 1] = -across, across
        return found.transpose(4, 0, 1, 2, 3).reshape(-1, 6, 6)


def joins(one: Floats, other: Floats, variances: Floats, toward: Floats) -> Joins:
    """one, other: (3, w), the ends, mm, apart; variances: of both, (2, w) or (2, 1), mm², by which
    the point lies between them; toward: (3, w) or (3, 1), what the directions must agree with."""
    arm = other - one
    by_arm = np.where(_total(arm * toward) < 0.0, -1.0, 1.0) / np.sqrt(_total(arm * arm))
    first, second = shares = variances[::-1] / variances.sum(axis=0)
    point = one * first
    point += other * second
    arm *= by_arm
    return Joins(point, arm, shares, by_arm)


def _total(products: Floats) -> Floats:
    """The sum of three rows, faster than NumPy's own along a short axis."""
    return np.asarray(products[0] + products[1] + products[2])
