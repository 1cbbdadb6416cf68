"""Trials by blocks that stay in the processor's cache, and what is told of all of them."""

import math
from collections.abc import Mapping, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from app.chassis.characteristic_units import unit_of
from app.chassis.formulas.everything import computed
from app.chassis.survey import Floats, Reference
from app.chassis.trials.head import TOGETHER, Associations, Marks, Trials
from app.metrology.monte_carlo import (
    LEAST_BLOCK,
    Stability,
    Summary,
    half_width,
    shortest_interval,
    stream,
    summary,
    symmetric_interval,
    tails,
)

PER_RADIAN = math.degrees(1.0)
COVERAGE = 0.95


class Limits(NamedTuple):
    """Of the value itself, in its unit; infinite where there is none."""

    lower: float
    upper: float


class Told(NamedTuple):
    """summary: of the trials with a solution, with the shortest interval of 95 %, None where fewer
    than two have one; symmetric: the interval beside which as many lie below as above; half_width:
    U for which value ± U holds 95 %; digits: to how
    many significant digits of u it stands still, None with too few trials to tell; within, above,
    below: shares of all trials; unsolved: how many have no solution."""

    summary: Summary | None
    symmetric: tuple[float, float]
    half_width: float
    digits: int | None
    within: float
    above: float
    below: float
    unsolved: int


class Outcome(NamedTuple):
    """together: share of the trials within all their required limits at once; stable: whether the
    digits asked for were reached, None: not asked."""

    trials: int
    told: Mapping[str, Told]
    together: float
    stable: bool | None


class Asked(NamedTuple):
    """values: of the characteristics wanted, by key, as measured; limits: of those that have some;
    required: keys that are to be within together; trials: at most so many; digits: enough when
    these stand still."""

    values: Mapping[str, float]
    limits: Mapping[str, Limits]
    required: Sequence[str]
    trials: int
    seed: int
    digits: int | None


def run(trials: Trials, reference: Reference, asked: Asked) -> Outcome:
    """Values of the asked characteristics over the trials, and their summaries."""
    values, drawn = (
        np.empty((len(asked.values), asked.trials)),
        np.empty((trials.deviates, TOGETHER)),
    )
    late, stability, done, stable = _Late(), Stability(), 0, False
    while done < asked.trials and not stable:
        if done % LEAST_BLOCK == 0:
            generator = stream(asked.seed, done // LEAST_BLOCK)
        trials.draw(generator, drawn)
        part, own = trials.associate(drawn, finish=False), slice(done, done + TOGETHER)
        _fill(values[:, own], part, reference, asked)
        late.keep(done, drawn, part.found[: asked.trials - done])
        done = min(own.stop, asked.trials)
        if late.waiting >= TOGETHER:
            late.finish(values, trials, reference, asked)
        if asked.digits is not None and done % LEAST_BLOCK == 0:
            late.finish(values, trials, reference, asked)
            _add_blocks(stability, values[:, :done])
            stable = _reached(stability, asked.digits)
    late.finish(values, trials, reference, asked)
    _add_blocks(stability, values[:, :done])
    return _told(values[:, :done], stability, asked, stable)


class _Late:
    """Trials that need more steps than nearly all others: they are solved together later."""

    def __init__(self) -> None:
        self.places: list[NDArray[np.intp]] = []
        self.drawn: list[Floats] = []

    def keep(self, begin: int, drawn: Floats, found: Marks) -> None:
        """begin: the place of the first trial of `drawn`; found: (trials wanted,)."""
        rest = np.flatnonzero(~found)
        if len(rest):
            self.places.append(rest + begin)
            self.drawn.append(drawn[:, rest])

    @property
    def waiting(self) -> int:
        """How many are kept: never many more than are solved at once, whatever the trials."""
        return sum([len(places) for places in self.places])

    def finish(self, values: Floats, trials: Trials, reference: Reference, asked: Asked) -> None:
        """Solve them, into their places among the values (keys, trials)."""
        while self.places:
            places, drawn = self.places.pop(), self.drawn.pop()
            while self.places and len(places) < TOGETHER:
                places = np.concatenate((places, self.places.pop()))
                drawn = np.concatenate((drawn, self.drawn.pop()), axis=1)
            own = np.empty((len(values), len(places)))
            _fill(own, trials.associate(drawn, finish=True), reference, asked)
            values[:, places] = own


def _fill(values: Floats, solved: Associations, reference: Reference, asked: Asked) -> None:
    """values: (keys, up to TOGETHER)."""
    count = values.shape[1]
    answers = computed(solved.associated, reference, only=asked.values).values
    for row, key in zip(values, asked.values, strict=True):
        answer = answers[key].value if key in answers else solved.shapes.get(key, np.nan)
        row[:] = answer[:count] if isinstance(answer, np.ndarray) else answer
        if unit_of(key) == "deg":
            row *= PER_RADIAN
    if not solved.found.all():
        values[:, ~solved.found[:count]] = np.nan


def _summary(row: Floats) -> Summary | None:
    """Of the trials that have a solution."""
    sound = _sound(row)
    return summary(sound, COVERAGE) if len(sound) > 1 else None


def _add_blocks(stability: Stability, values: Floats) -> None:
    """The whole blocks that were not added yet."""
    for block in range(len(stability.blocks), values.shape[1] // LEAST_BLOCK):
        own = values[:, block * LEAST_BLOCK : (block + 1) * LEAST_BLOCK]
        stability.add([_summary(row) or _NOTHING for row in own])


def _reached(stability: Stability, digits: int) -> bool:
    if len(stability.blocks) < 2:
        return False
    u = stability.u(LEAST_BLOCK)
    return all(stability.digits(one, place) >= digits for place, one in enumerate(u))


def _told(values: Floats, stability: Stability, asked: Asked, stable: bool) -> Outcome:
    count = values.shape[1]
    together = np.ones(count, dtype=bool)
    for key, row in zip(asked.values, values, strict=True):
        if key in asked.required:
            limits = asked.limits.get(key, _NO_LIMITS)
            together &= (row >= limits.lower) & (row <= limits.upper)
    told = {
        key: _one(row, place, stability, asked.limits.get(key, _NO_LIMITS), asked.values[key])
        for place, (key, row) in enumerate(zip(asked.values, values, strict=True))
    }
    wanted = asked.digits is not None
    return Outcome(count, told, _share(together), stable if wanted else None)


def _one(row: Floats, place: int, stability: Stability, limits: Limits, value: float) -> Told:
    sound = _sound(row)
    unsolved = len(row) - len(sound)
    up_to, below = _share(row <= limits.upper), _share(row < limits.lower)
    within, above = up_to - below, _share(row > limits.upper)
    if len(sound) < 2:
        return Told(None, _NO_LIMITS, math.inf, None, within, above, below, unsolved)
    low, high = tails(sound, COVERAGE)
    ends = shortest_interval(low, high)
    found = Summary(*_mean_and_spread(sound), *ends)
    digits = stability.digits(found.u, place) if len(stability.blocks) > 1 else None
    return Told(
        found,
        symmetric_interval(low, high),
        half_width(low, high, value),
        digits,
        within,
        above,
        below,
        unsolved,
    )


def _sound(row: Floats) -> Floats:
    """The trials that have a solution."""
    return row if math.isfinite(row.sum()) else row[np.isfinite(row)]


def _mean_and_spread(sound: Floats) -> tuple[float, float]:
    """Mean and standard deviation, without a second array as long as the trials."""
    mean, total = float(sound.mean()), 0.0
    for begin in range(0, len(sound), LEAST_BLOCK):
        apart = sound[begin : begin + LEAST_BLOCK] - mean
        total += float(apart @ apart)
    return mean, math.sqrt(total / (len(sound) - 1))


def _share(marks: Marks) -> float:
    return int(np.count_nonzero(marks)) / len(marks)


_NO_LIMITS = Limits(-math.inf, math.inf)
_NOTHING = Summary(math.nan, math.nan, math.nan, math.nan)
