"""Gauge study: how much of what is read comes from the gauge, the people and the parts.

Each of p people measures each of n parts r times. By analysis of variance, with and without the
interaction of people and parts, and by averages and ranges. Deviations are standard deviations in
the unit of the readings; a variance that comes out negative is none.
"""

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.special import fdtrc

from app.metrology.range_constants import range_constants

Floats = NDArray[np.float64]

POOL_FROM = 0.25
"""An interaction that chance gives with this probability or a larger one is taken for none; a
choice of our own, cautious: it rather keeps an interaction than hides one."""
CATEGORIES = math.sqrt(2.0)
"""Categories that the gauge can tell apart: so many part deviations over gauge deviations."""


class Source(NamedTuple):
    """One line of an analysis of variance; the residual has no ratio."""

    sum_of_squares: float
    degrees_of_freedom: int
    ratio: float | None
    """Mean square over that of what it is tested against."""
    tail: float | None
    """Probability of so large a ratio where there is nothing but chance."""

    @property
    def mean_square(self) -> float:
        return self.sum_of_squares / self.degrees_of_freedom


class Spread(NamedTuple):
    """Standard deviations of what makes readings differ."""

    repeatability: float
    reproducibility: float | None
    """From person to person; None: one person alone shows none."""
    interaction: float | None
    """Of people with parts; None: taken for none, or not looked at."""
    gauge: float
    """All of the above together."""
    part: float
    total: float
    repeatability_degrees_of_freedom: float
    categories: int | None
    """How many kinds of part the gauge can tell apart, at least 1; None: it does not scatter."""

    def share(self, deviation: float | None) -> float | None:
        """A deviation over the total; shares of deviations do not add up to 1."""
        if deviation is None or self.total == 0.0:
            return None
        return deviation / self.total

    def variance_share(self, deviation: float | None) -> float | None:
        """A variance over that of the total; these add up to 1."""
        share = self.share(deviation)
        return None if share is None else share**2


class Anova(NamedTuple):
    people: Source | None
    parts: Source
    interaction: Source | None
    repeatability: Source
    total: Source
    with_interaction: Spread | None
    pooled: Spread
    """The interaction counted as repeatability."""
    pooling: bool
    """Whether `pooled` is the one to read: no interaction shows."""

    @property
    def spread(self) -> Spread:
        """The one of the two to read."""
        if self.with_interaction is None or self.pooling:
            return self.pooled
        return self.with_interaction


class AverageRange(NamedTuple):
    mean_ranges: Floats
    """(p,) of each person."""
    means: Floats
    """(p,) of each person."""
    mean_range: float
    range_limit: float
    beyond: tuple[tuple[int, int], ...]
    """(person, part) whose range lies beyond the limit."""
    people_range: float
    part_range: float
    spread: Spread


def anova(readings: Floats, pool_from: float = POOL_FROM) -> Anova:
    """Analysis of variance with people and parts both drawn at random.

    readings: (p, n, r) people, parts, trials; two parts and two trials at least. Raises ValueError
    for less. Source of the method: JCGM 100:2008, H.5 (one factor), carried to two crossed
    factors; expected mean squares are those of the random model.
    """
    people, parts, trials = _sized(readings)
    squares = _squares(readings)
    within = Source(squares.within, people * parts * (trials - 1), None, None)
    total = Source(squares.total, readings.size - 1, None, None)
    if people == 1:
        part = _tested(squares.parts, parts - 1, within)
        alone = _spread(within, part, None, None, readings.shape)
        return Anova(None, part, None, within, total, None, alone, True)
    both = _tested(squares.cells, (people - 1) * (parts - 1), within)
    together = _pooled(both, within)
    pooling = (both.tail or 0.0) >= pool_from
    against = together if pooling else both
    person = _tested(squares.people, people - 1, against)
    part = _tested(squares.parts, parts - 1, against)
    return Anova(
        person,
        part,
        both,
        within,
        total,
        _spread(within, part, person, both, readings.shape),
        _spread(together, part, person, None, readings.shape),
        pooling,
    )


class _Squares(NamedTuple):
    """Sums of squared deviations, in the square of the readings' unit."""

    people: float
    parts: float
    cells: float
    """Of people with parts."""
    within: float
    total: float


def _squares(readings: Floats) -> _Squares:
    people, parts, trials = readings.shape
    grand, cell = readings.mean(), readings.mean(axis=2)
    by_person, by_part = readings.mean(axis=(1, 2)), readings.mean(axis=(0, 2))
    both = cell - by_person[:, None] - by_part[None, :] + grand
    return _Squares(
        parts * trials * float(np.sum((by_person - grand) ** 2)),
        people * trials * float(np.sum((by_part - grand) ** 2)),
        trials * float(np.sum(both**2)),
        float(np.sum((readings - cell[:, :, None]) ** 2)),
        float(np.sum((readings - grand) ** 2)),
    )


def _pooled(one: Source, other: Source) -> Source:
    """Both counted as one source of scatter."""
    return Source(
        one.sum_of_squares + other.sum_of_squares,
        one.degrees_of_freedom + other.degrees_of_freedom,
        None,
        None,
    )


def average_range(readings: Floats) -> AverageRange:
    """The same by averages and ranges: quicker by hand, and blind to an interaction.

    readings: (p, n, r) as for `anova`; raises ValueError as it does. Nothing is rounded on the
    way. Repeatability rests on the mean range over d2, the other two, which rest on one range
    each, on that range over d2* (`range_constants`).
    """
    people, parts, trials = _sized(readings)
    ranges = np.ptp(readings, axis=2)
    constants = range_constants(trials)
    mean_range = float(ranges.mean())
    limit = constants.highest * mean_range
    means, by_part = readings.mean(axis=(1, 2)), readings.mean(axis=(0, 2))
    repeatability = mean_range / constants.d2
    part_range, people_range = float(np.ptp(by_part)), float(np.ptp(means))
    reproducibility = None
    if people > 1:
        apart = people_range / range_constants(people).d2_star(1)
        reproducibility = math.sqrt(max(0.0, apart**2 - repeatability**2 / (parts * trials)))
    beyond = tuple((int(i), int(j)) for i, j in np.argwhere(ranges > limit))
    freedom = people * parts * _range_freedom(trials)
    return AverageRange(
        ranges.mean(axis=1),
        means,
        mean_range,
        limit,
        beyond,
        people_range,
        part_range,
        _together(
            repeatability,
            reproducibility,
            None,
            part_range / range_constants(parts).d2_star(1),
            freedom,
        ),
    )


def _sized(readings: Floats) -> tuple[int, int, int]:
    if readings.ndim != 3 or readings.shape[0] < 1 or min(readings.shape[1:]) < 2:
        raise ValueError(f"no gauge study: {readings.shape}")
    people, parts, trials = readings.shape
    return people, parts, trials


def _tested(squares: float, freedom: int, against: Source) -> Source:
    """A line with its ratio; against no scatter at all there is no ratio."""
    if against.mean_square == 0.0:
        return Source(squares, freedom, None, None)
    ratio = squares / freedom / against.mean_square
    tail = float(fdtrc(freedom, against.degrees_of_freedom, ratio))
    return Source(squares, freedom, ratio, tail)


def _spread(
    residual: Source,
    part: Source,
    person: Source | None,
    both: Source | None,
    shape: tuple[int, ...],
) -> Spread:
    people, parts, trials = shape
    base = residual if both is None else both
    reproducibility = None
    if person is not None:
        reproducibility = _root((person.mean_square - base.mean_square) / (parts * trials))
    interaction = (
        None if both is None else _root((both.mean_square - residual.mean_square) / trials)
    )
    return _together(
        math.sqrt(residual.mean_square),
        reproducibility,
        interaction,
        _root((part.mean_square - base.mean_square) / (people * trials)),
        float(residual.degrees_of_freedom),
    )


def _together(
    repeatability: float,
    reproducibility: float | None,
    interaction: float | None,
    part: float,
    freedom: float,
) -> Spread:
    gauge = math.hypot(repeatability, reproducibility or 0.0, interaction or 0.0)
    return Spread(
        repeatability,
        reproducibility,
        interaction,
        gauge,
        part,
        math.hypot(gauge, part),
        freedom,
        None if gauge == 0.0 else max(1, int(CATEGORIES * part / gauge)),
    )


def _root(variance: float) -> float:
    return math.sqrt(max(0.0, variance))


def _range_freedom(count: int) -> float:
    """Degrees of freedom that one range is worth: those of a chi with its coefficient of variation.

    To first order the relative variance of a standard deviation of ν degrees of freedom is 1/(2ν).
    """
    constants = range_constants(count)
    return 0.5 * (constants.d2 / constants.d3) ** 2
