"""Steps to the least sum of squares, for one set of points or for many trials at once.

The gradient is exact at every step. The matrix of second derivatives stays at first that of the
start, so that a step costs no system of equations, and the error falls by about the same small
factor each time; what has not settled then goes on with Gauss-Newton matrices of its own, its
steps halved while they do not go down.
"""

from typing import NamedTuple, Protocol, TypeVar

import numpy as np
from numpy.typing import NDArray

from app.geometry.dual import Floats
from app.geometry.undetermined import DoesNotSettle

EASY_STEPS = 8
MOST_STEPS = 200
SETTLED_MM = 1e-10
SETTLED_TRIAL_MM = 1e-8

AnyProblem = TypeVar("AnyProblem", bound="Problem")


class Slope(NamedTuple):
    """gradient: (p, trials), by the unknowns, of half the sum of squares chi_square (trials,)."""

    gradient: Floats
    chi_square: Floats


class Problem(Protocol):
    """Unknowns are (p, trials) everywhere; trials is 1 for one set of points."""

    def slope(self, unknowns: Floats) -> Slope:
        """At these unknowns."""

    def matrices(self, unknowns: Floats) -> Floats:
        """(trials, p, p): of Gauss-Newton."""

    def of(self: AnyProblem, trials: NDArray[np.intp]) -> AnyProblem:
        """Of some of the trials."""


def settle(
    problem: Problem, start: Floats, lengths: Floats, inverse: Floats
) -> tuple[Floats, Floats]:
    """Unknowns (p, trials) and sums of squares (trials,) at the minimum.

    start: (p, trials); lengths: (p,), how far one unit of each unknown moves the feature, mm;
    inverse: (p, p), of a Gauss-Newton matrix near the start. One set settles to SETTLED_MM, trials
    to SETTLED_TRIAL_MM. Raises DoesNotSettle.
    """
    tolerance = SETTLED_MM if start.shape[1] == 1 else SETTLED_TRIAL_MM
    unknowns = start
    before: Floats = np.zeros(start.shape[1])
    for _ in range(EASY_STEPS):
        slope = problem.slope(unknowns)
        step = inverse @ slope.gradient
        unknowns = unknowns - step
        size = _size(step, lengths)
        # The next step would be smaller than this one by the factor by which this one is smaller.
        going = (size > tolerance) & (size * size > 0.1 * tolerance * before)
        if not going.any():
            return unknowns, slope.chi_square
        before = size
    rest = np.flatnonzero(going)
    unknowns[:, rest] = _gauss_newton(problem.of(rest), start[:, rest], lengths, tolerance)
    return unknowns, problem.slope(unknowns).chi_square


def _size(step: Floats, lengths: Floats) -> Floats:
    return np.asarray((np.abs(step) * lengths[:, np.newaxis]).max(axis=0))


def _gauss_newton(problem: Problem, start: Floats, lengths: Floats, tolerance: float) -> Floats:
    """Unknowns (p, trials). Raises DoesNotSettle."""
    unknowns = start.copy()
    step = np.zeros_like(start)
    least = np.full(start.shape[1], np.inf)
    going = np.arange(start.shape[1])
    for _ in range(MOST_STEPS):
        part = problem.of(going)
        tried = unknowns[:, going] - step[:, going]
        slope = part.slope(tried)
        down = slope.chi_square <= least[going] * (1.0 + 1e-12)
        step[:, going[np.logical_not(down)]] *= 0.5
        taken = going[down]
        unknowns[:, taken] = tried[:, down]
        least[taken] = slope.chi_square[down]
        gradient = slope.gradient[:, down].T[..., np.newaxis]
        matrices = part.of(np.flatnonzero(down)).matrices(tried[:, down])
        step[:, taken] = np.linalg.solve(matrices, gradient)[..., 0].T
        going = going[_size(step[:, going], lengths) > tolerance]
        if not len(going):
            return np.asarray(unknowns - step)
    raise DoesNotSettle(MOST_STEPS)
