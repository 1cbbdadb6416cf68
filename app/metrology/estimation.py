"""Weighted non-linear least squares, with the covariance that the observations carry.

The residuals come whitened (each divided by its standard uncertainty), so that their sum of
squares is chi-square and the covariance of the parameters is the inverse of J'J. The method is
Gauss and Newton's, with Levenberg and Marquardt's damping where a full step does not descend.
A Jacobian without full rank is refused: no pseudo-inverse stands in for a covariance.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Function = Callable[[Floats], Floats]

RANK_TOLERANCE = 1e-11
SETTLED = 1e-7
FRESH = 1e-4
FIRST_RATE = 0.01
STALLED = 1e-4
MOST_STEPS = 100
MOST_DAMPINGS = 40
FIRST_DAMPING = 1e-3
RELATIVE_SLACK = 1e-12


class RankDeficient(ArithmeticError):
    """The observations leave a combination of the parameters free."""

    def __init__(self, reciprocal_condition: float) -> None:
        super().__init__(f"reciprocal condition {reciprocal_condition:.1e}")
        self.reciprocal_condition = reciprocal_condition


class NotConverged(ArithmeticError):
    """No minimum was reached."""


@dataclass(frozen=True, slots=True)
class Estimate:
    """The parameters at the minimum, and what the residuals do near it."""

    parameters: Floats
    """(p,)."""
    residuals: Floats
    """(m,), whitened."""
    basis: Floats
    """(m, p), orthonormal: the space in which the parameters move the residuals."""
    inverse: Floats
    """(p, p): the Jacobian is `basis` times the inverse of this; the covariance is
    `inverse @ inverse.T`, and a small whitened change w of the observations moves the parameters
    by `-inverse @ basis.T @ w`."""
    slopes: Floats
    """(m, p): the Jacobian."""

    @property
    def chi_square(self) -> float:
        return float(self.residuals @ self.residuals)

    @property
    def covariance(self) -> Floats:
        """(p, p) covariance of the parameters."""
        product: Floats = self.inverse @ self.inverse.T
        return product


class Minimum(NamedTuple):
    """parameters (p,), residuals (m,), the Jacobian (m, p) from where the last step was taken,
    and that step's length."""

    parameters: Floats
    residuals: Floats
    slopes: Floats
    last_step: float


def linearise(jacobian: Floats) -> tuple[Floats, Floats]:
    """Orthonormal basis (m, p) of the Jacobian's columns, and the factor's inverse (p, p).

    Columns are scaled to unit length first, so that units do not decide the rank. Raises
    RankDeficient.
    """
    length = np.sqrt(np.einsum("ij,ij->j", jacobian, jacobian))
    if jacobian.shape[0] < jacobian.shape[1] or not length.all():
        raise RankDeficient(0.0)
    basis, triangle = np.linalg.qr(jacobian / length)
    diagonal = np.abs(triangle.diagonal())
    if not diagonal.min() > RANK_TOLERANCE * diagonal.max():
        raise RankDeficient(float(diagonal.min() / diagonal.max()))
    return basis, np.linalg.inv(triangle) / length[:, np.newaxis]


def least_squares(
    residuals: Function, jacobian: Function, start: Floats, *, rounding: float = 0.0
) -> Estimate:
    """The parameters that minimise the sum of squared whitened residuals, and their derivatives.

    residuals: (p,) -> (m,); jacobian: (p,) -> (m, p), its derivatives; start: (p,); rounding: see
    `minimise`. Raises RankDeficient, NotConverged.
    """
    found = minimise(residuals, jacobian, start, settled=max(SETTLED, rounding))
    at = found.parameters
    slopes = found.slopes if found.last_step <= FRESH else jacobian(at)
    return Estimate(at, found.residuals, *linearise(slopes), slopes)


def minimise(
    residuals: Function,
    jacobian: Function,
    start: Floats,
    *,
    settled: float = SETTLED,
    near: tuple[Floats, Floats] | None = None,
) -> Minimum:
    """The parameters that minimise the sum of squared whitened residuals.

    Lengths of steps are told in standard uncertainties, as the length of the change that they
    make in the whitened space; `settled` is the length below which no further step is taken.
    near: residuals and Jacobian at a start that lies a few standard uncertainties from the
    minimum, so that the first step can be trusted to leave a hundredth of its length.
    Steps are taken by the normal equations, whose rounding the next step corrects. Raises
    RankDeficient, NotConverged. Method: J. Nocedal and S. Wright, Numerical Optimization,
    chapter 10 (from memory).
    """
    at = start
    now, slopes = near or (residuals(at), jacobian(at))
    before = 0.0
    for _ in range(MOST_STEPS):
        step, size = _full_step(slopes, now)
        there = at - step
        then = residuals(there)
        if then @ then <= (now @ now) * (1.0 + RELATIVE_SLACK) + settled**2:
            # Steps shrink at a steady rate: this one is the last when the next would be nothing.
            left = size * (min(1.0, size / before) if before else FIRST_RATE if near else 1.0)
            at, now, before = there, then, size
            if left <= settled:
                return Minimum(at, now, slopes, size)
        elif size <= STALLED:
            return Minimum(at, now, slopes, size)
        else:
            at, now = _damped_step(residuals, slopes, at, now)
            before = 0.0
        slopes = jacobian(at)
    raise NotConverged("no minimum")


def _full_step(slopes: Floats, now: Floats) -> tuple[Floats, float]:
    """Gauss and Newton's step (p,), and the length of the change that it makes."""
    downhill = now @ slopes
    try:
        step = np.linalg.solve(slopes.T @ slopes, downhill)
    except np.linalg.LinAlgError:
        linearise(slopes)
        raise NotConverged("no step") from None
    return np.asarray(step), math.sqrt(max(0.0, float(step @ downhill)))


def _damped_step(
    residuals: Function, slopes: Floats, at: Floats, now: Floats
) -> tuple[Floats, Floats]:
    """One step that descends, shortened and turned downhill by as much damping as it needs."""
    length = np.sqrt(np.einsum("ij,ij->j", slopes, slopes))
    scaled = slopes / length
    normal, downhill = scaled.T @ scaled, scaled.T @ now
    damping = FIRST_DAMPING
    for _ in range(MOST_DAMPINGS):
        there = at - np.linalg.solve(normal + damping * np.eye(len(at)), downhill) / length
        then = residuals(there)
        if then @ then < now @ now:
            return there, then
        damping *= 4.0
    raise NotConverged("no descent")
