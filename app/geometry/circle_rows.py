"""Residuals of points about a circle in space, and their derivatives.

In the frame of the circle (third direction its normal n) a point lies at (x, y, z), at the distance
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

# Signs of the unknowns against the place (the centre) and with it (the tilts).
AGAINST = np.array((-1.0, -1.0, -1.0, 1.0, 1.0))
OF_PLACE = np.diag((1.0, 1.0, 1.0, 0.0, 0.0))


class Circle(NamedTuple):
    """centre: (3,), mm; frame: (3, 3), its third row the normal; radius: mm."""

    centre: Floats
    frame: Floats
    radius: float


class Measured(NamedTuple):
    """places: (k, 3) or (k, 3, trials); lifts: (k,) or (k, trials), along the normal; spread: (k,)
    variances or (k, 3, 3) covariances."""

    places: Floats
    lifts: Floats
    spread: Floats


class Settled(NamedTuple):
    """centre, normal: (3,) or (3, trials); radius, chi_square: () or (trials,)."""

    centre: Floats
    normal: Floats
    radius: Floats
    chi_square: Floats


class Rows(NamedTuple):
    """seen: (k, 3), places in the circle's frame; rho: (k,); first: (k, 2, 5), derivatives of
    axial and radial distance by place and tilts."""

    seen: Floats
    rho: Floats
    first: Floats


def rows(circle: Circle, places: Floats) -> Rows:
    """Points (k, 3) about a circle."""
    seen = (places - circle.centre) @ circle.frame.T
    flat, z = seen[:, :2], seen[:, 2:]
    rho = np.hypot(seen[:, 0], seen[:, 1])
    first = np.zeros((len(rho), 2, 5))
    first[:, 0, 2] = 1.0
    first[:, 0, 3:] = flat
    outward = flat / rho[:, np.newaxis]
    first[:, 1, :2] = outward
    first[:, 1, 3:] = outward * -z
    return Rows(seen, rho, first)


def whitened_slopes(at: Rows, root: Floats) -> Floats:
    """(2 k, 6): derivatives of the residuals by the unknowns, each times root (k,), one over the
    standard uncertainty."""
    slopes = np.empty((len(at.rho), 2, 6))
    slopes[:, :, :5] = at.first * AGAINST
    slopes[:, 0, 5], slopes[:, 1, 5] = 0.0, -1.0
    slopes *= root[:, np.newaxis, np.newaxis]
    return slopes.reshape(-1, 6)


def by_places(
    at: Rows, slopes: Floats, root: Floats, residuals: Floats | None
) -> tuple[Floats, Floats]:
    """Second derivatives of half the sum of squares: (6, 6) by the unknowns, and (k, 6, 3) by
    unknowns and places in the circle's frame. residuals: (k, 2), None where all are zero."""
    matrix = slopes.T @ slopes
    of_place = at.first[:, :, :3] * root[:, np.newaxis, np.newaxis]
    by_place = slopes.reshape(-1, 2, 6).transpose(0, 2, 1) @ of_place
    if residuals is not None:
        curved = curvature(at, residuals * (root * root)[:, np.newaxis]) * AGAINST[:, np.newaxis]
        by_place[:, :5] += curved[:, :, :3]
        matrix[:5, :5] += curved.sum(axis=0) * AGAINST
    return matrix, by_place


def curvature(at: Rows, pull: Floats) -> Floats:
    """(k, 5, 5): second derivatives of the residuals by place and tilts, times pull (k, 2)."""
    z = at.seen[:, 2:, np.newaxis]
    of_axial = np.zeros((len(z), 5, 5))
    of_axial[:, (0, 3, 1, 4), (3, 0, 4, 1)] = 1.0
    of_axial[:, (3, 4), (3, 4)] = -at.seen[:, 2:]
    of_radial = OF_PLACE - z * of_axial - at.first.transpose(0, 2, 1) @ at.first
    by_axial, by_radial = pull[:, 0], pull[:, 1] / at.rho
    return np.asarray(by_axial[:, None, None] * of_axial + by_radial[:, None, None] * of_radial)
