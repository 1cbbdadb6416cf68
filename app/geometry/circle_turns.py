"""Points about circles in space, each trial its own circle: distances, gradient, matrices.

Unknowns (6, t) as in `circle_steps`; points (3, k, t), in the frame of a first circle.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from app.geometry.dual import Floats


class Round(NamedTuple):
    """normal: (3, 1, t); height, rho: (k, t), along it and from the axle; outward: (3, k, t), unit;
    by_tilt: (2, k, t), derivatives of the height by the tilts."""

    normal: Floats
    height: Floats
    outward: Floats
    rho: Floats
    by_tilt: Floats


def round_about(unknowns: Floats, places: Floats) -> Round:
    """The points as they lie about the circles."""
    a, b = unknowns[3:5]
    arm = places - unknowns[:3, np.newaxis]
    short = 1.0 / np.sqrt(1.0 + a * a + b * b)
    normal = np.array((a * short, b * short, short))[:, np.newaxis]
    height = (normal * arm).sum(axis=0)
    outward = arm - height * normal
    rho = np.sqrt((outward * outward).sum(axis=0))
    by_tilt = (arm[:2] - height * normal[:2]) * short
    outward /= rho
    return Round(normal, height, outward, rho, by_tilt)


def gradient(at: Round, pull: Floats) -> Floats:
    """(6, t): of half the sum of squares; pull: (2, k, t), axial and radial distance times the
    inverse of their covariance."""
    axial, radial = pull
    found = np.empty((6, at.rho.shape[1]))
    found[:3] = -(at.outward * radial + at.normal * axial).sum(axis=1)
    found[3:5] = (at.by_tilt * (axial - radial * at.height / at.rho)).sum(axis=1)
    found[5] = -radial.sum(axis=0)
    return found


def matrices(at: Round, weight: Floats) -> Floats:
    """(t, 6, 6): of Gauss-Newton; weight: (2, 2, k, t), that inverse covariance."""
    rows = np.zeros((2, 6, *at.rho.shape))
    rows[0, :3], rows[1, :3] = -at.normal, -at.outward
    rows[0, 3:5], rows[1, 3:5] = at.by_tilt, at.by_tilt * (-at.height / at.rho)
    rows[1, 5] = -1.0
    weighted = (weight[:, :, np.newaxis] * rows).sum(axis=1)
    return np.asarray(np.einsum("rikt,rjkt->tij", rows, weighted))


def some(whole: Floats, trials: NDArray[np.intp]) -> Floats:
    """Some of the trials, of what may be the same for all of them."""
    return whole if whole.shape[-1] == 1 else whole[..., trials]
