"""The steps that bring a circle in space to the least sum of squares, for one set or many trials.

All in the frame of a first circle: the unknowns are the centre (x, y, z), the tilts (a, b) of the
normal (a, b, 1) / |(a, b, 1)|, and the radius. The gradient is exact at every step. The matrix of
second derivatives stays at first that of the first circle, so that a step costs no system of
equations and the error falls by the factor step / radius each time; what has not settled then goes
on with Gauss-Newton matrices of its own, its steps halved while they do not go down.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from app.geometry import circle_rows
from app.geometry.circle_rows import Circle
from app.geometry.dual import Floats
from app.geometry.undetermined import DoesNotSettle

EASY_STEPS = 8
MOST_STEPS = 200
SETTLED_MM = 1e-10
SETTLED_TRIAL_MM = 1e-8


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


class _Seen(NamedTuple):
    """In the first circle's frame; places: (3, k, t), lifts: (k, t), t of 1 or the trials;
    weight: (2, 2, k, 1), inverse covariance of axial and radial distance."""

    places: Floats
    lifts: Floats
    weight: Floats

    def of(self, trials: NDArray[np.intp]) -> "_Seen":
        places = self.places if self.places.shape[-1] == 1 else self.places[..., trials]
        lifts = self.lifts if self.lifts.shape[-1] == 1 else self.lifts[..., trials]
        return _Seen(places, lifts, self.weight)


class _Slope(NamedTuple):
    """Of half the sum of squares chi_square (t,) by the unknowns: (6, t); by_tilt: (2, k, t), of
    the axial distance."""

    gradient: Floats
    chi_square: Floats
    by_tilt: Floats
    normal: Floats
    outward: Floats
    lean: Floats


def settle(first: Circle, measured: Measured) -> Settled:
    """The circle of one set, or those of all trials, from one first circle.

    Raises DoesNotSettle.
    """
    single = measured.places.ndim == 2 and measured.lifts.ndim == 1
    seen = _seen(first, measured)
    trials = max(seen.places.shape[-1], seen.lifts.shape[-1])
    unknowns = np.zeros((6, trials))
    unknowns[5] = first.radius
    tolerance = SETTLED_MM if single else SETTLED_TRIAL_MM
    inverse = _inverse(first, measured)
    before: Floats = np.zeros(trials)
    for _ in range(EASY_STEPS):
        slope = _slope(unknowns, seen)
        step = inverse @ slope.gradient
        unknowns -= step
        size = _size(step, first.radius)
        # The next step would be smaller than this one by the factor that this one is smaller.
        going = (size > tolerance) & (size * size > 0.1 * tolerance * before)
        if not going.any():
            break
        before = size
    else:
        rest = np.flatnonzero(going)
        unknowns[:, rest] = _gauss_newton(seen.of(rest), first.radius, len(rest), tolerance)
        slope = _slope(unknowns, seen)
    found = _placed(first, unknowns, slope.chi_square)
    return Settled(*(part[..., 0] for part in found)) if single else found


def _seen(first: Circle, measured: Measured) -> _Seen:
    places, lifts, whitening = measured
    arms = (places if places.ndim == 3 else places[..., np.newaxis]) - first.centre[:, np.newaxis]
    weight = (whitening.transpose(0, 2, 1) @ whitening).transpose(1, 2, 0)[..., np.newaxis]
    return _Seen(
        np.ascontiguousarray((first.frame @ arms).transpose(1, 0, 2)),
        lifts if lifts.ndim == 2 else lifts[:, np.newaxis],
        weight,
    )


def _inverse(first: Circle, measured: Measured) -> Floats:
    """(6, 6): of the Gauss-Newton matrix at the first circle."""
    places = measured.places if measured.places.ndim == 2 else measured.places.mean(axis=2)
    slopes = circle_rows.whitened_slopes(circle_rows.rows(first, places), measured.whitening)
    return np.asarray(np.linalg.inv(slopes.T @ slopes), dtype=np.float64)


def _size(step: Floats, radius: float) -> Floats:
    """(t,): how far a step moves the circle, mm."""
    far = np.abs(step)
    far[3:5] *= radius
    return np.asarray(far.max(axis=0))


def _placed(first: Circle, unknowns: Floats, chi_square: Floats) -> Settled:
    normal = np.ones((3, unknowns.shape[1]))
    normal[:2] = unknowns[3:5]
    normal /= np.sqrt((normal * normal).sum(axis=0))
    centre = first.centre[:, np.newaxis] + first.frame.T @ unknowns[:3]
    return Settled(centre, first.frame.T @ normal, unknowns[5], chi_square)


def _slope(unknowns: Floats, seen: _Seen) -> _Slope:
    a, b = unknowns[3:5]
    arm = seen.places - unknowns[:3, np.newaxis]
    short = 1.0 / np.sqrt(1.0 + a * a + b * b)
    normal = np.array((a * short, b * short, short))[:, np.newaxis]
    height = (normal * arm).sum(axis=0)
    outward = arm - height * normal
    rho = np.sqrt((outward * outward).sum(axis=0))
    residuals = np.array((height - seen.lifts, rho - unknowns[5]))
    axial, radial = pull = (seen.weight * residuals).sum(axis=1)
    chi_square = (residuals * pull).sum(axis=(0, 1))
    lean = height / rho
    by_tilt = (arm[:2] - height * normal[:2]) * short
    outward /= rho
    gradient = np.empty(unknowns.shape)
    gradient[:3] = -(outward * radial + normal * axial).sum(axis=1)
    gradient[3:5] = (by_tilt * (axial - radial * lean)).sum(axis=1)
    gradient[5] = -radial.sum(axis=0)
    return _Slope(gradient, chi_square, by_tilt, normal, outward, lean)


def _matrices(slope: _Slope, weight: Floats) -> Floats:
    """(t, 6, 6): of Gauss-Newton."""
    rows = np.zeros((2, 6, *slope.lean.shape))
    rows[0, :3], rows[1, :3] = -slope.normal, -slope.outward
    rows[0, 3:5], rows[1, 3:5] = slope.by_tilt, -slope.by_tilt * slope.lean
    rows[1, 5] = -1.0
    weighted = (weight[:, :, np.newaxis] * rows).sum(axis=1)
    return np.asarray(np.einsum("rikt,rjkt->tij", rows, weighted))


def _gauss_newton(seen: _Seen, radius: float, trials: int, tolerance: float) -> Floats:
    """Unknowns (6, trials). Raises DoesNotSettle."""
    unknowns = np.zeros((6, trials))
    unknowns[5] = radius
    step = np.zeros((trials, 6))
    least = np.full(trials, np.inf)
    going = np.arange(trials)
    for _ in range(MOST_STEPS):
        part = seen.of(going)
        slope = _slope(unknowns[:, going] - step[going].T, part)
        down = slope.chi_square <= least[going] * (1.0 + 1e-12)
        step[going[np.logical_not(down)]] *= 0.5
        taken = going[down]
        unknowns[:, taken] -= step[taken].T
        least[taken] = slope.chi_square[down]
        matrix = _matrices(slope, part.weight)[down]
        step[taken] = np.linalg.solve(matrix, slope.gradient[:, down].T[..., np.newaxis])[..., 0]
        going = going[_size(step[going].T, radius) > tolerance]
        if not len(going):
            return unknowns - step.T
    raise DoesNotSettle(MOST_STEPS)
