"""Weighted non-linear least squares, with the covariance that the observations carry.

The residuals come whitened (each divided by its standard uncertainty), so that their sum of
squares is chi-square and the covariance of the parameters is the inverse of J'J. The method is
Gauss and Newton's, with Levenberg and Marquardt's damping where a full step does not descend.
A Jacobian without full rank is refused: no pseudo-inverse stands in for a covariance.
"""

import math
from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Function = Callable[[Floats], Floats]

RANK_TOLERANCE = 1e-12
SETTLED = 7e-9
ROUGH = 1e-4
"""From here one more step, the one whose Jacobian gives the covariance, reaches the end."""
STALLED = 1e-4
FIRST_RATE = 0.01
SLOWEST_RATE = 0.99
MOST_TRIALS = 300
FIRST_DAMPING = 1e-3
LEAST_DAMPING = 1e-6
DAMPING_FACTOR = 8.0
RELATIVE_SLACK = 1e-12


class RankDeficient(ArithmeticError):
    """The observations leave a combination of the parameters free."""

    def __init__(self, reciprocal_condition: float) -> None:
        super().__init__(f"reciprocal condition {reciprocal_condition:.1e}")
        self.reciprocal_condition = reciprocal_condition


class NotConverged(ArithmeticError):
    """No minimum was reached."""


class Estimate(NamedTuple):
    """The parameters at the minimum, and what the residuals do near it."""

    parameters: Floats
    """(p,)."""
    residuals: Floats
    """(m,), whitened."""
    slopes: Floats
    """(m, p): the Jacobian."""
    covariance: Floats
    """(p, p). A small whitened change w of the observed values moves the parameters by
    `covariance @ slopes.T @ w`."""

    @property
    def chi_square(self) -> float:
        return float(self.residuals.dot(self.residuals))


class Minimum(NamedTuple):
    """parameters (p,), residuals (m,), and the length of the last step."""

    parameters: Floats
    residuals: Floats
    last_step: float


def covariance_of(slopes: Floats) -> Floats:
    """(p, p): the inverse of J'J, for a Jacobian (m, p) of whitened residuals.

    Rows and columns are scaled to unit diagonal first, so that units do not decide the rank.
    Raises RankDeficient when a parameter's variance exceeds by too much what it would be if the
    others were known.
    """
    normal = slopes.T.dot(slopes)
    length = np.sqrt(normal.diagonal())
    if slopes.shape[0] < slopes.shape[1] or 0.0 in length.tolist():
        raise RankDeficient(0.0)
    scale = length * length[:, np.newaxis]
    try:
        inverse = np.linalg.inv(normal / scale)
    except np.linalg.LinAlgError:
        raise RankDeficient(0.0) from None
    inflation = inverse.diagonal()
    if not 0.0 < inflation.min() <= inflation.max() < 1.0 / RANK_TOLERANCE:
        raise RankDeficient(max(0.0, 1.0 / float(np.abs(inflation).max())))
    covariance: Floats = inverse / scale
    return covariance


def least_squares(
    residuals: Function, jacobian: Function, start: Floats, *, rounding: float = 0.0
) -> Estimate:
    """The parameters that minimise the sum of squared whitened residuals, and their covariance.

    residuals: (p,) -> (m,), modelled less observed; jacobian: (p,) -> (m, p), its derivatives;
    start: (p,); rounding: length of a step that rounding alone can make. The last step is taken
    with the very Jacobian that gives the covariance. Raises RankDeficient, NotConverged.
    """
    at, settled = start, max(SETTLED, rounding)
    for _ in range(MOST_TRIALS):
        found = minimise(residuals, jacobian, at, settled=max(ROUGH, rounding))
        slopes = jacobian(found.parameters)
        covariance = covariance_of(slopes)
        downhill = found.residuals.dot(slopes)
        step = covariance.dot(downhill)
        at, size = found.parameters - step, _length(step, downhill)
        if size <= settled or _left(size, size / found.last_step) <= settled:
            # So short a step changes the residuals by its derivatives and nothing that shows.
            return Estimate(at, found.residuals - slopes.dot(step), slopes, covariance)
    raise NotConverged("no minimum")


def minimise(
    residuals: Function,
    jacobian: Function,
    start: Floats,
    *,
    settled: float,
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
    damping = before = 0.0
    for _ in range(MOST_TRIALS):
        step, size = _step(slopes, now, damping)
        there = at - step
        then = residuals(there)
        if then.dot(then) <= now.dot(now) * (1.0 + RELATIVE_SLACK) + settled**2:
            at, now = there, then
            if damping == 0.0:
                rate = size / before if before else FIRST_RATE if near else SLOWEST_RATE
                if _left(size, rate) <= settled:
                    return Minimum(at, now, size)
            before = size if damping == 0.0 else 0.0
            damping = damping / DAMPING_FACTOR if damping > LEAST_DAMPING else 0.0
            slopes = jacobian(at)
        elif size <= STALLED and damping == 0.0:
            return Minimum(at, now, size)
        else:
            damping, before = max(FIRST_DAMPING, damping * DAMPING_FACTOR), 0.0
    raise NotConverged("no minimum")


def _left(size: float, rate: float) -> float:
    """The way left after a step of this size, when steps shrink at a steady rate."""
    rate = min(rate, SLOWEST_RATE)
    return size * rate / (1.0 - rate)


def _step(slopes: Floats, now: Floats, damping: float) -> tuple[Floats, float]:
    """A step (p,), Gauss and Newton's where it is not damped, and the length of the change."""
    downhill = now.dot(slopes)
    normal = slopes.T.dot(slopes)
    if damping:
        normal += np.diag(normal.diagonal() * damping)
    try:
        step: Floats = np.asarray(np.linalg.solve(normal, downhill), dtype=np.float64)
    except np.linalg.LinAlgError:
        raise RankDeficient(0.0) from None
    return step, _length(step, downhill)


def _length(step: Floats, downhill: Floats) -> float:
    return math.sqrt(max(0.0, float(step.dot(downhill))))
