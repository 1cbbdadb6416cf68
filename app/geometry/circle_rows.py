"""Residuals of points about circles in space, and their derivatives.

In the frame of a circle (third direction its normal n) a point lies at (x, y, z), at the distance
rho = hypot(x, y) from the axle. Residuals: axial z - lift, radial rho - radius. Unknowns in this
order: centre (3) in that frame, tilts (2) that turn n to n + first e1 + second e2, radius. First
and second derivatives of the residuals by the place v and the tilts; those by the centre are
those by v, negative:

    axial   first (0, 0, 1, x, y);                second H: d1 with the first tilt 1, d2 with the
                                                  second 1, each tilt with itself -z
    radial  first (x, y, 0, -z x, -z y) / rho;    second (|dv|^2 - axial axial^T - z H
                                                  - radial radial^T) / rho

which is rho^2 = |v|^2 - (n . v)^2 taken twice; calculus, no source needed.
"""

from typing import NamedTuple

import numpy as np

from app.geometry.dual import Floats
from app.geometry.stacked import Stacked, frames_along

# Signs of the centre against the place, then the tilts.
AGAINST = np.array((-1.0, -1.0, -1.0, 1.0, 1.0))
OF_PLACE = np.diag((1.0, 1.0, 1.0, 0.0, 0.0))


class Circles(NamedTuple):
    """centre, normal: (t, 3); radius: (t,)."""

    centre: Floats
    normal: Floats
    radius: Floats


class Measured(NamedTuple):
    """places: (t, k, 3); lifts: (t, k), along the normal; whitening: (k, 2, 2), W with W^T W the
    inverse covariance of axial and radial distance."""

    places: Floats
    lifts: Floats
    whitening: Floats


class Rows(NamedTuple):
    """frames: (t, 3, 3); seen: (t, k, 3); rho: (t, k); residuals: (t, 2 k), slopes: (t, 2 k, 6),
    both whitened."""

    frames: Floats
    seen: Floats
    rho: Floats
    residuals: Floats
    slopes: Floats


def whitening(given: Stacked, circles: Circles) -> Floats:
    """(k, 2, 2): what makes axial and radial distance of unit variance, beside one circle."""
    if given.covariances is None:
        root = 1.0 / np.sqrt(given.variances)
        return np.asarray(np.eye(2) * root[:, np.newaxis, np.newaxis])
    normal = circles.normal[0]
    arms = given.middle - circles.centre[0]
    arms = arms - np.outer(arms @ normal, normal)
    outward = arms / np.linalg.norm(arms, axis=1, keepdims=True)
    across = np.stack((np.broadcast_to(normal, outward.shape), outward), axis=1)
    spread = across @ given.covariances @ across.transpose(0, 2, 1)
    return np.linalg.inv(np.linalg.cholesky(spread))


def rows(circles: Circles, measured: Measured) -> Rows:
    """Residuals and first derivatives of every trial."""
    frames = frames_along(circles.normal)
    arms = measured.places - circles.centre[:, np.newaxis]
    seen = arms @ frames.transpose(0, 2, 1)
    x, y, z = seen[..., 0], seen[..., 1], seen[..., 2]
    rho = np.sqrt(x * x + y * y)
    residuals = np.empty((*rho.shape, 2, 1))
    residuals[..., 0, 0] = z - measured.lifts
    residuals[..., 1, 0] = rho - circles.radius[:, np.newaxis]
    slopes = np.zeros((*rho.shape, 2, 6))
    slopes[..., 0, 2] = slopes[..., 1, 5] = -1.0
    slopes[..., 0, 3:5] = seen[..., :2]
    outward = seen[..., :2] / rho[..., np.newaxis]
    slopes[..., 1, :2] = -outward
    slopes[..., 1, 3:5] = -z[..., np.newaxis] * outward
    count = len(rho)
    whitened = (measured.whitening @ residuals).reshape(count, -1)
    return Rows(frames, seen, rho, whitened, (measured.whitening @ slopes).reshape(count, -1, 6))


def moved(circles: Circles, frames: Floats, step: Floats) -> Circles:
    """The circles after a step (t, 6) of their unknowns."""
    by_axis = step[:, :3, np.newaxis] * frames
    normal = circles.normal + step[:, 3, np.newaxis] * frames[:, 0]
    normal = normal + step[:, 4, np.newaxis] * frames[:, 1]
    length = np.sqrt(np.sum(normal * normal, axis=1, keepdims=True))
    return Circles(
        circles.centre + by_axis.sum(axis=1), normal / length, circles.radius + step[:, 5]
    )


def local(circles: Circles, measured: Measured) -> Floats:
    """(7, k, 3): derivatives of centre, normal and radius of one circle by the places, at the
    minimum (implicit function of the derivatives of the sum of squares, which are zero there)."""
    at = rows(circles, measured)
    count = len(at.rho[0])
    turned = measured.whitening.transpose(0, 2, 1)
    pull = (turned @ at.residuals.reshape(count, 2, 1))[..., 0]
    slopes = at.slopes[0].reshape(count, 2, 6)
    first = slopes[:, :, :5] * AGAINST
    curved = first.transpose(0, 2, 1) @ first + _second(at, pull)
    matrix = np.empty((6, 6))
    matrix[:5, :5] = curved.sum(axis=0) * np.outer(AGAINST, AGAINST)
    matrix[5] = matrix[:, 5] = np.einsum("kri,kr->i", slopes, slopes[:, :, 5])
    by_place = np.empty((count, 6, 3))
    by_place[:, :5] = curved[:, :, :3] * AGAINST[:, np.newaxis]
    by_place[:, 5] = np.einsum("kri,kr->ki", first[:, :, :3], slopes[:, :, 5])
    frame = at.frames[0]
    wanted = (by_place @ frame).transpose(1, 0, 2).reshape(6, -1)
    unknowns = np.linalg.solve(matrix, -wanted)
    found = np.empty((7, 3 * count))
    found[:3] = frame.T @ unknowns[:3]
    found[3:6] = frame[:2].T @ unknowns[3:5]
    found[6] = unknowns[5]
    return found.reshape(7, count, 3)


def _second(at: Rows, pull: Floats) -> Floats:
    """(k, 5, 5): second derivatives of the residuals by place and tilts, times `pull` (k, 2)."""
    seen, rho = at.seen[0], at.rho[0]
    x, y, z = seen.T
    axial = np.zeros((len(rho), 5))
    axial[:, 2], axial[:, 3], axial[:, 4] = 1.0, x, y
    radial = np.zeros((len(rho), 5))
    radial[:, :2] = seen[:, :2] / rho[:, np.newaxis]
    radial[:, 3:] = -z[:, np.newaxis] * radial[:, :2]
    of_axial = np.zeros((len(rho), 5, 5))
    of_axial[:, (0, 3, 1, 4), (3, 0, 4, 1)] = 1.0
    of_axial[:, (3, 4), (3, 4)] = -z[:, np.newaxis]
    of_radial = OF_PLACE - axial[:, :, np.newaxis] * axial[:, np.newaxis]
    of_radial -= z[:, np.newaxis, np.newaxis] * of_axial
    of_radial -= radial[:, :, np.newaxis] * radial[:, np.newaxis]
    by_axial, by_radial = pull[:, 0, None, None], (pull[:, 1] / rho)[:, None, None]
    return np.asarray(by_axial * of_axial + by_radial * of_radial)
