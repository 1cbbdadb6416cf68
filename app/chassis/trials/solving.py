"""The non-linear least-squares problem of every trial solved at once.

Each trial starts where first order leads (one product for all), then takes steps with its own
exact gradient and the inverse normal matrix of the estimate, which all share. Two such steps
suffice for nearly all trials of a sound survey. The others mix their last steps so that these
shrink faster (`acceleration`); what is still left takes damped steps with a normal matrix of its
own (`refinement`).
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from app.chassis.survey import Floats
from app.chassis.trials.acceleration import accelerated
from app.chassis.trials.block import AXIS, Turning
from app.chassis.trials.gradient import Workspace, gradient
from app.chassis.trials.refinement import refined

Marks = NDArray[np.bool_]

SETTLED_MM = 1e-6
"""A trial is solved when no more than this is left of the way."""
SURELY_SETTLED_MM = 1e-9
MOST_STEPS, MORE_STEPS = 4, 5
MOST_SETTLED = 0.7
"""Share of the trials from which the rest goes on alone."""
FAST = 0.2
SAFETY = 3.0
MOST_PRODUCTS = 2**18
"""A product of matrices with more is shared among threads, which cost more than they bring."""


class Solved(NamedTuple):
    """unknowns: (m, k) at each trial's minimum; found: (k,) whether it has one."""

    unknowns: Floats
    found: Marks


class Axes(NamedTuple):
    """unknowns: (4, k), those of the axis; found: (k,)."""

    unknowns: Floats
    found: Marks


class Solver:
    """Solves trials of one block, `trials` of them at once in arrays that it keeps."""

    def __init__(self, block: Turning, trials: int) -> None:
        self.block, self.trials = block, trials
        self.work = Workspace.of(block, trials)
        self.observed = np.empty((3, len(block.turn), trials))
        self.unknowns = self.work.unknowns
        self.step = np.empty_like(self.unknowns)

    def solved(self, deviates: Floats, growth: Floats, *, finish: bool) -> Solved:
        """Solve k trials, which are as many as the solver was made for.

        deviates: (rows, k), each row's error over its u; growth: (k,) by what share all positions
        are too large (which only a stated distance of targets can tell); finish: False leaves
        trials that need more than the others as not found. The answer is written over by the next
        call.
        """
        block, unknowns = self.block, self.unknowns
        lengths = displace(block, deviates, growth, self.observed)
        multiply(block.gain, deviates, self.step)
        np.add(self.step, block.start, out=unknowns)
        sizes = [_size(block, self.step)]
        done = np.zeros(self.trials, dtype=bool)
        while len(sizes) <= MOST_STEPS and np.count_nonzero(done) < MOST_SETTLED * self.trials:
            slope = gradient(block, unknowns, self.observed, lengths, self.work)
            multiply(block.inverse, slope, self.step)
            unknowns -= self.step
            sizes.append(_size(block, self.step))
            done = _settled(sizes)
        rest = np.flatnonzero(~done) if finish else ()
        if len(rest):
            there = self.observed[:, :, rest], lengths[:, rest]
            kept = [size[rest] for size in sizes[-2:]]
            unknowns[:, rest], done[rest] = _rest(block, unknowns[:, rest], *there, kept)
        return Solved(unknowns, done)

    def axes(self, deviates: Floats, growth: Floats, *, finish: bool) -> Axes:
        """As `solved`, for any number of trials."""
        count = deviates.shape[1]
        unknowns, found = np.empty((AXIS, count)), np.empty(count, dtype=bool)
        for begin in range(0, count, self.trials):
            own = slice(begin, min(begin + self.trials, count))
            some = own.stop - begin
            solver = self if some == self.trials else Solver(self.block, some)
            answer = solver.solved(deviates[:, own], growth[own], finish=finish)
            unknowns[:, own], found[own] = answer.unknowns[:AXIS], answer.found
        return Axes(unknowns, found)


def solved(block: Turning, deviates: Floats, growth: Floats | None = None) -> Solved:
    """Solve k trials of a block, arguments as of `Solver.solved`."""
    count = deviates.shape[1]
    growth = np.zeros(count) if growth is None else growth
    return Solver(block, count).solved(deviates, growth, finish=True)


def _rest(
    block: Turning, unknowns: Floats, observed: Floats, lengths: Floats, sizes: list[Floats]
) -> tuple[Floats, Marks]:
    """More steps where they shrink fast, then by other means; sizes: of the steps so far."""
    found = np.zeros(unknowns.shape[1], dtype=bool)
    left = np.flatnonzero(sizes[-1] <= FAST * sizes[-2])
    sizes = [size[left] for size in sizes]
    for _ in range(MORE_STEPS):
        if not len(left):
            break
        there = observed[:, :, left], lengths[:, left]
        work = Workspace.of(block, len(left))
        step = block.inverse @ gradient(block, unknowns[:, left], *there, work)
        unknowns[:, left] -= step
        sizes = [*sizes[-2:], _size(block, step)]
        done = _settled(sizes)
        found[left[done]] = True
        going = ~done & (sizes[-1] <= FAST * sizes[-2])
        left, sizes = left[going], [size[going] for size in sizes]
    for solve in (accelerated, refined):
        left = np.flatnonzero(~found)
        if len(left):
            there = observed[:, :, left], lengths[:, left]
            unknowns[:, left], found[left] = solve(block, unknowns[:, left], *there)
    return unknowns, found


def displace(block: Turning, deviates: Floats, growth: Floats, observed: Floats) -> Floats:
    """What each trial observes: positions (3, n, k) in the block's frame, into `observed`, and
    distances of targets (spacings, k); mm. Were all to shrink by the growth, they would be these.
    """
    count = len(block.turn)
    errors = deviates[: 3 * count].reshape(count, 3, -1)
    for place, (row, spread) in enumerate(zip(block.order, block.spread, strict=True)):
        point = observed[:, place]
        if spread.ndim == 1:
            np.multiply(errors[row], spread, out=point)
        else:
            np.matmul(spread, errors[row], out=point)
        point += block.place[:, place]
    lengths = np.empty((len(block.spacings), deviates.shape[1]))
    for row, spacing in enumerate(block.spacings):
        lengths[row] = spacing.length + spacing.u * deviates[3 * count + row]
        lengths[row] /= 1.0 + growth
    return lengths


def multiply(matrix: Floats, columns: Floats, out: Floats) -> None:
    """matrix @ columns, a few columns at a time."""
    several = max(64, MOST_PRODUCTS // matrix.size)
    for begin in range(0, columns.shape[1], several):
        own = slice(begin, begin + several)
        np.matmul(matrix, columns[:, own], out=out[:, own])


def _size(block: Turning, step: Floats) -> Floats:
    """(k,): the longest way, mm, that a step moves the axis."""
    way = step[:AXIS] * block.scale[:AXIS]
    np.abs(way, out=way)
    return np.asarray(way.max(axis=0))


def _settled(sizes: list[Floats]) -> Marks:
    """Which trials are solved, by how their steps have shrunk.

    The first step is exact but for what the errors change of the normal matrix, and leaves half of
    what a later one of its length would. A step that happens to be short is not taken for a fast
    one: two in turn count, and how the steps of all trials shrink.
    """
    size = sizes[-1]
    if len(sizes) < 3:
        return np.asarray(size <= SURELY_SETTLED_MM)
    before, last = sizes[-3], sizes[-2]
    with np.errstate(invalid="ignore", divide="ignore", over="ignore"):
        rate = np.sqrt(np.divide(size.sum(), before.sum()))
        left = np.fmax(2.0 * size * last / before, size * rate)
    return np.asarray((left <= SETTLED_MM / SAFETY) | (size <= SURELY_SETTLED_MM))
