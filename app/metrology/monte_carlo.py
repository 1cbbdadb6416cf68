"""Propagation of distributions by trials (JCGM 101:2008); clause numbers are from memory.

The trials come in blocks. Each block has a stream of random numbers of its own, told by the seed
and by the block's number, so that the same seed gives the same trials however many are made.
"""

import math
from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Draw = Callable[[np.random.Generator, int], Floats]

LEAST_BLOCK = 10_000
"""Trials of a block whose means, deviations and interval ends are compared (7.9.4)."""
MANY, SAMPLE, WIDER = 20_000, 5_000, 1.3


class Summary(NamedTuple):
    """Of the trials of one quantity: mean, standard deviation, ends of a coverage interval."""

    mean: float
    u: float
    low: float
    high: float


class Validation(NamedTuple):
    """tolerance: what two ends may differ by; low, high: by how much they do."""

    tolerance: float
    low: float
    high: float

    @property
    def passed(self) -> bool:
        return self.low <= self.tolerance and self.high <= self.tolerance


class Propagated(NamedTuple):
    """values: (quantities, trials); stable: whether the digits asked for were reached."""

    values: Floats
    stable: bool


def stream(seed: int, block: int) -> np.random.Generator:
    """The random numbers of one block: NumPy's default generator, a child of the seed."""
    return np.random.Generator(np.random.PCG64(np.random.SeedSequence(seed, spawn_key=(block,))))


def block_size(p: float) -> int:
    """Trials of a block: 10,000, or 100 beyond an interval of coverage p (7.9.4 b)."""
    return max(LEAST_BLOCK, math.ceil(100.0 / (1.0 - p)))


def beyond(count: int, p: float) -> int:
    """How many of the trials lie outside an interval of coverage p (7.7.2)."""
    return count - min(count - 1, math.floor(p * count + 0.5))


def tails(values: Floats, p: float) -> tuple[Floats, Floats]:
    """The lowest and the highest trials, in order, as many each as lie beyond coverage p.

    values: (trials,). Only these can be ends of an interval. Of very many only those are put in
    order that lie beyond what a sample of them tells.
    """
    out = beyond(len(values), p)
    if len(values) > MANY:
        sample = np.sort(values[:: len(values) // SAMPLE])
        place = math.ceil(WIDER * out / len(values) * len(sample))
        low, high = values[values <= sample[place]], values[values >= sample[-1 - place]]
        if len(low) >= out <= len(high):
            low.sort()
            high.sort()
            return low[:out], high[len(high) - out :]
    ordered = np.sort(values)
    return ordered[:out], ordered[len(values) - out :]


def shortest_interval(low: Floats, high: Floats) -> tuple[float, float]:
    """Ends of the shortest interval that holds the share of the trials (7.7.4), from the tails."""
    place = int(np.argmin(high - low))
    return float(low[place]), float(high[place])


def symmetric_interval(low: Floats, high: Floats) -> tuple[float, float]:
    """Ends of the interval beside which as many trials lie below as above (7.7.3), from the
    tails."""
    place = (len(low) - 1) // 2
    return float(low[place]), float(high[place])


def half_width(low: Floats, high: Floats, value: float) -> float:
    """The U for which value ± U holds the share of the trials, from the tails: as far away as the
    nearest of those that lie outside."""
    away = np.concatenate((value - low, high - value))
    return float(np.partition(away, len(low))[len(low)])


def summary(values: Floats, p: float = 0.95, *, shortest: bool = True) -> Summary:
    """Mean, standard deviation and interval of trials (two or more)."""
    interval = shortest_interval if shortest else symmetric_interval
    ends = interval(*tails(values, p))
    return Summary(float(values.mean()), float(values.std(ddof=1)), *ends)


def numerical_tolerance(u: float, digits: int) -> float:
    """Half a unit of the last of the significant digits to which u is told (7.9.2).

    u = c 10^l with a whole number c of so many digits; the tolerance is 10^l / 2.
    """
    if not u > 0.0:
        return 0.0
    exponent = math.floor(math.log10(u)) - digits + 1
    if round(u / 10.0**exponent) >= 10**digits:
        exponent += 1
    return 0.5 * 10.0**exponent


class Stability:
    """Watches the blocks of several quantities until averages over them stand still (7.9.4)."""

    def __init__(self) -> None:
        self.blocks: list[list[Summary]] = []

    def add(self, block: list[Summary]) -> None:
        """One summary for each quantity, of the trials of one block."""
        self.blocks.append(block)

    def spread(self) -> Floats:
        """(quantities, 4): twice the standard deviation of the averages of mean, u and ends."""
        every = np.array(self.blocks, dtype=np.float64)
        count = len(every)
        if count < 2:
            return np.full(every.shape[1:], math.inf)
        return np.asarray(2.0 * every.std(axis=0, ddof=1) / math.sqrt(count))

    def u(self, size: int) -> list[float]:
        """Standard deviation of all trials of each quantity; size: trials of a block."""
        every = np.array(self.blocks, dtype=np.float64)
        mean, within = every[:, :, 0], every[:, :, 1]
        count = len(every)
        squares = (size - 1) * (within**2).sum(axis=0) + size * count * mean.var(axis=0)
        found: list[float] = np.sqrt(squares / (size * count - 1)).tolist()
        return found

    def digits(self, u: float, quantity: int) -> int:
        """To how many significant digits of u all four of a quantity stand still; 0 to 9."""
        worst = float(self.spread()[quantity].max())
        reached = 0
        while reached < 9 and worst <= numerical_tolerance(u, reached + 1):
            reached += 1
        return reached


def propagate(
    draw: Draw, seed: int, *, digits: int, most: int, p: float = 0.95, shortest: bool = True
) -> Propagated:
    """Trials, block after block, until stable to so many digits of u; at most `most` of them.

    draw: from a generator and a number of trials to values (quantities, trials).
    """
    size = block_size(p)
    blocks: list[Floats] = []
    stability = Stability()
    while not blocks or (len(blocks) + 1) * size <= most:
        blocks.append(draw(stream(seed, len(blocks)), size))
        stability.add([summary(row, p, shortest=shortest) for row in blocks[-1]])
        if len(blocks) > 1:
            reached = [stability.digits(u, row) for row, u in enumerate(stability.u(size))]
            if min(reached) >= digits:
                return Propagated(np.concatenate(blocks, axis=1), True)
    return Propagated(np.concatenate(blocks, axis=1), False)


def validation(low: float, high: float, trials: Summary, digits: int) -> Validation:
    """Compare the interval of another method with that of the trials (8.1).

    low, high: its ends; digits: significant digits of u that are to be right.
    """
    tolerance = numerical_tolerance(trials.u, digits)
    return Validation(tolerance, abs(low - trials.low), abs(high - trials.high))
