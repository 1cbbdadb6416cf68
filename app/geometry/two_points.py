"""Lines through two points each: many at once, or one over many trials."""

from typing import NamedTuple

import numpy as np

from app.geometry.dual import Floats


class Joins(NamedTuple):
    """point, direction: (3, w); lengths: (w,), from end to end; turned: (w,), -1 where the
    direction points from the second end to the first, else 1; shares: (2, w) or (2, 1), of both
    ends in the point."""

    point: Floats
    direction: Floats
    lengths: Floats
    turned: Floats
    shares: Floats

    def local(self) -> Floats:
        """(w, 6, 6): derivatives of point and direction by both ends."""
        identity = np.eye(3)[..., np.newaxis]
        across = (identity - self.direction[:, np.newaxis] * self.direction) * (
            self.turned / self.lengths
        )
        found = np.empty((2, 3, 2, 3, len(self.lengths)))
        found[0] = identity[:, np.newaxis] * self.shares[:, np.newaxis]
        found[1, :, 0], found[1, :, 1] = -across, across
        return found.transpose(4, 0, 1, 2, 3).reshape(-1, 6, 6)


def joins(one: Floats, other: Floats, variances: Floats, toward: Floats) -> Joins:
    """one, other: (3, w), the ends, mm; variances: of both, (2, w) or (2, 1), mm², by which the
    point lies between them; toward: (3, w) or (3, 1), what the directions must agree with.

    Where both ends are one, the direction is NaN.
    """
    arm = other - one
    lengths = np.sqrt(_total(arm * arm))
    turned = np.where(_total(arm * toward) < 0.0, -1.0, 1.0)
    with np.errstate(invalid="ignore", divide="ignore"):
        arm *= turned / lengths
    first, second = shares = variances[::-1] / variances.sum(axis=0)
    point = one * first
    point += other * second
    return Joins(point, arm, lengths, turned, shares)


def _total(products: Floats) -> Floats:
    """The sum of three rows, faster than NumPy's own along a short axis."""
    return np.asarray(products[0] + products[1] + products[2])
