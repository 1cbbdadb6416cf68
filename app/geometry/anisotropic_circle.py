"""The maximum-likelihood circle where a point's uncertainty is not the same in every direction.

A point p, of covariance C, may truly lie at any place q of the circle (lifted by its offset): the
least squared Mahalanobis distance is that of q = p - C B^T l, where B (2, 3) are the derivatives of
axial and radial distance h by the place, at q, and l = (B C B^T)^-1 (h(q) + B (p - q)). A few turns
find q, because B hardly changes from p to q. The derivative of half the sum by an unknown is then
the sum of l times that of h. The slopes follow from the derivatives of all three conditions (of
the place, of the circle, of the sum); errors in all variables, textbook calculus, algebra ours.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from app.geometry import circle_rows
from app.geometry.circle_rows import AGAINST, Circle, Measured
from app.geometry.circle_turns import Round, gradient, matrices, round_about, some
from app.geometry.dual import Floats
from app.geometry.settling import Slope

MOST_TURNS = 50
STILL_MM = 1e-11
CLOSER = 1e-3
"""The places need not be closer than this part of how far they went."""


class _True(NamedTuple):
    """at: the true places; places: (3, k, t); pull: (2, k, t), l; weight: (2, 2, k, t), inverse
    of B C B^T; chi_square: (t,)."""

    at: Round
    places: Floats
    pull: Floats
    weight: Floats
    chi_square: Floats


class Anisotropic:
    """In the first circle's frame; places: (3, k, t), lifts: (k, t), t of 1 or the trials;
    spread: (3, 3, k, 1), covariances. The true places of one step are where the next begins, and
    are found the closer, the smaller the steps get; those of some trials always to STILL_MM."""

    def __init__(
        self, places: Floats, lifts: Floats, spread: Floats, near: Floats | None = None
    ) -> None:
        self.places, self.lifts, self.spread = places, lifts, spread
        self._near = places if near is None else near
        self._closer = CLOSER if near is None else 0.0

    def of(self, trials: NDArray[np.intp]) -> "Anisotropic":
        """Of some of the trials."""
        whole = self.places, self.lifts, self._near
        places, lifts, near = (some(one, trials) for one in whole)
        return Anisotropic(places, lifts, self.spread, near)

    def slope(self, unknowns: Floats) -> Slope:
        """Gradient (6, t) and sum of squares (t,)."""
        true = self.true(unknowns)
        return Slope(gradient(true.at, true.pull), true.chi_square)

    def matrices(self, unknowns: Floats) -> Floats:
        """(t, 6, 6): of Gauss-Newton."""
        true = self.true(unknowns)
        return matrices(true.at, true.weight)

    def inverse(self, start: Floats) -> Floats:
        """(6, 6): of the matrix at the start, for the middle of the trials."""
        middle = self.places.mean(axis=2, keepdims=True), self.lifts.mean(axis=1, keepdims=True)
        found = Anisotropic(*middle, self.spread).matrices(start[:, :1])[0]
        return np.asarray(np.linalg.inv(found), dtype=np.float64)

    def true(self, unknowns: Floats) -> _True:
        """The likeliest places on the circles."""
        places, still = self._near, STILL_MM
        for _ in range(MOST_TURNS):
            at = round_about(unknowns, places)
            move = self.places - places
            off = np.array(
                (
                    at.height - self.lifts + (at.normal * move).sum(axis=0),
                    at.rho - unknowns[5] + (at.outward * move).sum(axis=0),
                )
            )
            axial = (self.spread * at.normal).sum(axis=1)
            radial = (self.spread * at.outward).sum(axis=1)
            mixed = (at.outward * axial).sum(axis=0)
            first, second = (at.normal * axial).sum(axis=0), (at.outward * radial).sum(axis=0)
            weight = np.array(((second, -mixed), (-mixed, first))) / (first * second - mixed**2)
            pull = (weight * off).sum(axis=1)
            before, places = places, self.places - axial * pull[0] - radial * pull[1]
            change = float(np.abs(places - before).max())
            still = max(still, self._closer * change)
            if change <= still:
                break
        self._near = places
        at = round_about(unknowns, places)
        return _True(at, places, pull, weight, (off * pull).sum(axis=(0, 1)))


def local(circle: Circle, measured: Measured) -> Floats:
    """(6, 4 k): derivatives of the unknowns, in the circle's frame, by the places, in the
    measured axes, and then by the lifts."""
    frame, count = circle.frame, len(measured.places)
    seen = (measured.places - circle.centre) @ frame.T
    spread = frame @ measured.spread @ frame.T
    still = np.zeros((6, 1))
    still[5] = circle.radius
    places = seen.T[..., np.newaxis]
    turned = spread.transpose(1, 2, 0)[..., np.newaxis]
    true = Anisotropic(places, measured.lifts[:, np.newaxis], turned, places).true(still)
    at = circle_rows.rows(Circle(np.zeros(3), np.eye(3), circle.radius), true.places[..., 0].T)
    curved = circle_rows.curvature(at, true.pull[..., 0].T) * AGAINST
    by_circle = np.zeros((count, 5, 6))
    by_circle[:, :3, :5] = curved[:, :3]
    by_circle[:, 3:, :5] = at.first * AGAINST
    by_circle[:, 4, 5] = -1.0
    inverse = np.linalg.inv(spread)
    conditions = np.zeros((count, 5, 5))
    conditions[:, :3, :3] = inverse + curved[:, :3, :3] * AGAINST[:3]
    conditions[:, :3, 3:] = at.first[:, :, :3].transpose(0, 2, 1)
    conditions[:, 3:, :3] = at.first[:, :, :3]
    answered = np.linalg.solve(conditions, by_circle).transpose(0, 2, 1)
    matrix = (answered @ by_circle).sum(axis=0)
    matrix[:5, :5] -= (curved * AGAINST[:, np.newaxis]).sum(axis=0)
    wanted = np.empty((6, 4 * count))
    by_place = answered[:, :, :3] @ inverse @ frame
    wanted[:, : 3 * count] = by_place.transpose(1, 0, 2).reshape(6, -1)
    wanted[:, 3 * count :] = answered[:, :, 3].T
    return np.asarray(np.linalg.solve(matrix, wanted), dtype=np.float64)
