"""The least sum of squares of points about a circle in space, for one set or many trials.

All in the frame of a first circle: the unknowns are the centre (x, y, z), the tilts (a, b) of the
normal (a, b, 1) / |(a, b, 1)|, and the radius. The residuals are those of `circle_rows`, whitened
by variances; with covariances they are those of `anisotropic_circle`.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from app.geometry import circle_rows
from app.geometry.anisotropic_circle import Anisotropic
from app.geometry.circle_rows import Circle, Measured, Settled
from app.geometry.circle_turns import gradient, matrices, round_about, some
from app.geometry.dual import Floats
from app.geometry.settling import Slope, settle


def settled(first: Circle, measured: Measured) -> Settled:
    """The circle of one set, or those of all trials, from one first circle.

    Raises DoesNotSettle.
    """
    places, lifts, spread = measured
    single = places.ndim == 2 and lifts.ndim == 1
    arms = (places if places.ndim == 3 else places[..., np.newaxis]) - first.centre[:, np.newaxis]
    seen = np.ascontiguousarray((first.frame @ arms).transpose(1, 0, 2))
    lifts = lifts if lifts.ndim == 2 else lifts[:, np.newaxis]
    start = np.zeros((6, max(seen.shape[-1], lifts.shape[-1])))
    start[5] = first.radius
    lengths = np.array((1.0, 1.0, 1.0, first.radius, first.radius, 1.0))
    if spread.ndim == 1:
        inverse = _inverse(first, places if places.ndim == 2 else places.mean(axis=2), spread)
        isotropic = Isotropic(seen, lifts, (1.0 / spread)[:, np.newaxis])
        unknowns, chi_square = settle(isotropic, start, lengths, inverse)
    else:
        turned = (first.frame @ spread @ first.frame.T).transpose(1, 2, 0)[..., np.newaxis]
        anisotropic = Anisotropic(seen, lifts, np.ascontiguousarray(turned))
        unknowns, chi_square = settle(anisotropic, start, lengths, anisotropic.inverse(start))
    normal = np.ones((3, unknowns.shape[1]))
    normal[:2] = unknowns[3:5]
    normal /= np.sqrt((normal * normal).sum(axis=0))
    centre = first.centre[:, np.newaxis] + first.frame.T @ unknowns[:3]
    found = Settled(centre, first.frame.T @ normal, unknowns[5], chi_square)
    return Settled(*(part[..., 0] for part in found)) if single else found


def _inverse(first: Circle, places: Floats, variances: Floats) -> Floats:
    """(6, 6): of the Gauss-Newton matrix at the first circle."""
    at = circle_rows.rows(first, places)
    slopes = circle_rows.whitened_slopes(at, 1.0 / np.sqrt(variances))
    return np.asarray(np.linalg.inv(slopes.T @ slopes), dtype=np.float64)


class Isotropic(NamedTuple):
    """In the first circle's frame; places: (3, k, t), lifts: (k, t), t of 1 or the trials;
    weight: (k, 1), one over the variance."""

    places: Floats
    lifts: Floats
    weight: Floats

    def of(self, trials: NDArray[np.intp]) -> "Isotropic":
        """Of some of the trials."""
        return Isotropic(some(self.places, trials), some(self.lifts, trials), self.weight)

    def slope(self, unknowns: Floats) -> Slope:
        """Gradient (6, t) and sum of squares (t,)."""
        at = round_about(unknowns, self.places)
        residuals = np.array((at.height - self.lifts, at.rho - unknowns[5]))
        pull = residuals * self.weight
        return Slope(gradient(at, pull), (residuals * pull).sum(axis=(0, 1)))

    def matrices(self, unknowns: Floats) -> Floats:
        """(t, 6, 6): of Gauss-Newton."""
        at = round_about(unknowns, self.places)
        weight = np.zeros((2, 2, *at.rho.shape))
        weight[0, 0] = weight[1, 1] = self.weight
        return matrices(at, weight)
