"""The non-linear least-squares problem of every trial solved at once.

Each trial starts where first order leads (one product for all), then takes steps with its own
exact gradient and the inverse normal matrix of the estimate, which all share. What is left after a
step is told by how the steps shrink. Trials for which that is too slow take damped steps with a
normal matrix of their own (Levenberg and Marquardt's).
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from app.chassis.survey import Floats
from app.chassis.trials.block import Turning
from app.chassis.trials.gradient import gradient
from app.chassis.trials.refinement import refined

Marks = NDArray[np.bool_]

SETTLED_MM = 3e-7
"""A trial is solved when so little is left of the way at most."""
MOST_STEPS = 12
SLOWEST = 0.5
"""Steps that shrink more slowly than this are given up for damped ones."""
SAFETY = 3.0


class Solved(NamedTuple):
    """unknowns: (m, k) at each trial's minimum; found: (k,) whether it has one."""

    unknowns: Floats
    found: Marks


def solved(block: Turning, deviates: Floats, growth: Floats | None = None) -> Solved:
    """Solve k trials of a block.

    deviates: (rows, k), each row's error over its u; growth: (k,) by what share all positions are
    too large (which only a stated distance of targets can tell).
    """
    observed, lengths = displaced(block, deviates, growth)
    step = block.gain @ deviates
    unknowns = block.start + step
    found = np.zeros(deviates.shape[1], dtype=bool)
    before = _size(block, step)
    left = np.arange(len(found))
    now, there, sizes = unknowns, observed, lengths
    for _ in range(MOST_STEPS):
        step = block.inverse @ gradient(block, now, there, sizes)
        now = now - step
        size = _size(block, step)
        done, hopeful = _judged(size, before)
        unknowns[:, left] = now
        found[left[done]] = True
        going = hopeful & ~done
        if not going.any():
            break
        left, now, there = left[going], now[:, going], there[:, :, going]
        sizes, before = sizes[:, going], size[going]
    rest = np.flatnonzero(~found)
    if len(rest):
        again = refined(block, unknowns[:, rest], observed[:, :, rest], lengths[:, rest])
        unknowns[:, rest], found[rest] = again.unknowns, again.found
    return Solved(unknowns, found)


def displaced(block: Turning, deviates: Floats, growth: Floats | None) -> tuple[Floats, Floats]:
    """What each trial observes: positions (3, n, k) in the block's frame, and distances of targets
    (spacings, k); mm. Were all positions to shrink by the growth, they would be these."""
    count = len(block.turn)
    errors = deviates[: 3 * count].reshape(count, 3, -1)
    if block.spread.ndim == 2:
        observed = block.place + errors.transpose(1, 0, 2) * block.spread
    else:
        observed = block.place + np.einsum("nij,njk->ink", block.spread, errors)
    lengths = np.empty((len(block.spacings), deviates.shape[1]))
    for row, spacing in enumerate(block.spacings):
        lengths[row] = spacing.length + spacing.u * deviates[3 * count + row]
        if growth is not None:
            lengths[row] /= 1.0 + growth
    return observed, lengths


def _size(block: Turning, step: Floats) -> Floats:
    """(k,): the longest way, mm, that a step moves anything."""
    return np.asarray(np.abs(step * block.scale).max(axis=0))


def _judged(size: Floats, before: Floats) -> tuple[Marks, Marks]:
    """Which trials are solved, and which get nearer fast enough.

    How fast the steps of a trial shrink depends on its errors, and is about the same for all: one
    whose last step happens to be short must not be taken for a fast one.
    """
    with np.errstate(invalid="ignore", divide="ignore"):
        shrunk = size / before
        rate = SAFETY * np.fmax(shrunk, np.nanmean(np.minimum(shrunk, 1.0)))
        left = np.where(rate < 1.0, size * rate / (1.0 - rate), np.inf)
    done = (left <= SETTLED_MM) | (size <= SETTLED_MM / 100.0)
    return done, (shrunk <= SLOWEST) & np.isfinite(size)
