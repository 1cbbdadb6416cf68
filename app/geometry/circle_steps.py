"""The least sum of squares of points about a circle in space, for one set or many trials.

All in the frame of a first circle: the unknowns are the centre (x, y, z), the tilts (a, b) of the
normal (a, b, 1) / |(a, b, 1)|, and the radius. The residuals are those of `circle_rows`.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from app.geometry import circle_rows
from app.geometry.circle_rows import Circle
from app.geometry.dual import Floats
from app.geometry.settling import Slope, settle


class Measured(NamedTuple):
    """places: (k, 3) or (k, 3, trials); lifts: (k,) or (k, trials), along the normal; whitening:
    (k, 2, 2), W with W^T W the inverse covariance of axial and radial distance."""

    places: Floats
    lifts: Floats
    whitening: Floats


class Settled(NamedTuple):
    """centre, normal: (3,) or (3, trials); radius, chi_square: () or (trials,)."""

    centre: Floats
    normal: Floats
    radius: Floats
    chi_square: Floats


def settled(first: Circle, measured: Measured) -> Settled:
    """The circle of one set, or those of all trials, from one first circle.

    Raises DoesNotSettle.
    """
    problem = _problem(first, measured)
    unknowns = np.zeros((6, max(problem.places.shape[-1], problem.lifts.shape[-1])))
    unknowns[5] = first.radius
    lengths = np.array((1.0, 1.0, 1.0, first.radius, first.radius, 1.0))
    unknowns, chi_square = settle(problem, unknowns, lengths, _inverse(first, measured))
    normal = np.ones((3, unknowns.shape[1]))
    normal[:2] = unknowns[3:5]
    normal /= np.sqrt((normal * normal).sum(axis=0))
    centre = first.centre[:, np.newaxis] + first.frame.T @ unknowns[:3]
    found = Settled(centre, first.frame.T @ normal, unknowns[5], chi_square)
    if measured.places.ndim == 2 and measured.lifts.ndim == 1:
        return Settled(*(part[..., 0] for part in found))
    return found


def _inverse(first: Circle, measured: Measured) -> Floats:
    """(6, 6): of the Gauss-Newton matrix at the first circle."""
    places = measured.places if measured.places.ndim == 2 else measured.places.mean(axis=2)
    slopes = circle_rows.whitened_slopes(circle_rows.rows(first, places), measured.whitening)
    return np.asarray(np.linalg.inv(slopes.T @ slopes), dtype=np.float64)


def _problem(first: Circle, measured: Measured) -> "_Problem":
    places, lifts, whitening = measured
    arms = (places if places.ndim == 3 else places[..., np.newaxis]) - first.centre[:, np.newaxis]
    weight = (whitening.transpose(0, 2, 1) @ whitening).transpose(1, 2, 0)[..., np.newaxis]
    return _Problem(
        np.ascontiguousarray((first.frame @ arms).transpose(1, 0, 2)),
        lifts if lifts.ndim == 2 else lifts[:, np.newaxis],
        weight,
    )


class _Round(NamedTuple):
    """Points about the circles: arm, outward: (3, k, t); normal: (3, 1, t); height, rho: (k, t);
    by_tilt: (2, k, t), of the height."""

    normal: Floats
    height: Floats
    outward: Floats
    rho: Floats
    by_tilt: Floats


class _Problem(NamedTuple):
    """In the first circle's frame; places: (3, k, t), lifts: (k, t), t of 1 or the trials;
    weight: (2, 2, k, 1), inverse covariance of axial and radial distance."""

    places: Floats
    lifts: Floats
    weight: Floats

    def of(self, trials: NDArray[np.intp]) -> "_Problem":
        places = self.places if self.places.shape[-1] == 1 else self.places[..., trials]
        lifts = self.lifts if self.lifts.shape[-1] == 1 else self.lifts[..., trials]
        return _Problem(places, lifts, self.weight)

    def round(self, unknowns: Floats) -> _Round:
        a, b = unknowns[3:5]
        arm = self.places - unknowns[:3, np.newaxis]
        short = 1.0 / np.sqrt(1.0 + a * a + b * b)
        normal = np.array((a * short, b * short, short))[:, np.newaxis]
        height = (normal * arm).sum(axis=0)
        outward = arm - height * normal
        rho = np.sqrt((outward * outward).sum(axis=0))
        by_tilt = (arm[:2] - height * normal[:2]) * short
        outward /= rho
        return _Round(normal, height, outward, rho, by_tilt)

    def slope(self, unknowns: Floats) -> Slope:
        at = self.round(unknowns)
        residuals = np.array((at.height - self.lifts, at.rho - unknowns[5]))
        axial, radial = pull = (self.weight * residuals).sum(axis=1)
        gradient = np.empty(unknowns.shape)
        gradient[:3] = -(at.outward * radial + at.normal * axial).sum(axis=1)
        gradient[3:5] = (at.by_tilt * (axial - radial * at.height / at.rho)).sum(axis=1)
        gradient[5] = -radial.sum(axis=0)
        return Slope(gradient, (residuals * pull).sum(axis=(0, 1)))

    def matrices(self, unknowns: Floats) -> Floats:
        at = self.round(unknowns)
        rows = np.zeros((2, 6, *at.rho.shape))
        rows[0, :3], rows[1, :3] = -at.normal, -at.outward
        rows[0, 3:5], rows[1, 3:5] = at.by_tilt, at.by_tilt * (-at.height / at.rho)
        rows[1, 5] = -1.0
        weighted = (self.weight[:, :, np.newaxis] * rows).sum(axis=1)
        return np.asarray(np.einsum("rikt,rjkt->tij", rows, weighted))
