"""What each source contributes to each characteristic, and so their covariance.

Every input is scaled to unit variance and none is correlated with another, so that the covariance
of the characteristics is G G' with G (k, inputs) their derivatives. A source is one or more runs
of columns: the points of one feature, the squareness of the faces, or one common cause (one
column that moves all points together: fully correlated).
"""

import math
from collections.abc import Sequence
from itertools import accumulate
from typing import NamedTuple

import numpy as np

from app.chassis.result import Share, Shared
from app.chassis.survey import Floats
from app.metrology.degrees_of_freedom import welch_satterthwaite

ROUNDING = 1e-15
"""Share of a variance that rounding alone can make."""


class Run(NamedTuple):
    """A source's name and how many columns in a row are its inputs.

    causes: a name for each of the columns, where another survey may share them.
    """

    source: str
    columns: int
    causes: tuple[str, ...] = ()


class Contributions(NamedTuple):
    """sources: names in order; parts: for each characteristic the variance by each source;
    derivatives: (k, inputs); runs: of the inputs."""

    sources: tuple[str, ...]
    parts: list[list[float]]
    derivatives: Floats
    runs: tuple[Run, ...]

    @classmethod
    def of(cls, runs: Sequence[Run], derivatives: Floats) -> "Contributions":
        """derivatives: (k, inputs), of the characteristics by inputs of unit variance."""
        met = [run for run in runs if run.columns]
        starts = list(accumulate([run.columns for run in met[:-1]], initial=0))
        by_run = np.add.reduceat(derivatives * derivatives, starts, axis=1)
        sources = tuple(dict.fromkeys([run.source for run in met]))
        belongs = np.array([[run.source == source for source in sources] for run in met])
        return cls(sources, (by_run @ belongs).tolist(), derivatives, tuple(met))

    def without(self, row: int) -> "Contributions":
        """The same without one characteristic."""
        parts = self.parts[:row] + self.parts[row + 1 :]
        derivatives = np.delete(self.derivatives, row, axis=0)
        return Contributions(self.sources, parts, derivatives, self.runs)

    @property
    def shared(self) -> Shared:
        """What causes that another survey may share contribute."""
        names: list[str] = []
        columns: list[int] = []
        begin = 0
        for run in self.runs:
            names += run.causes
            columns += range(begin, begin + len(run.causes))
            begin += run.columns
        return Shared(tuple(names), self.derivatives.take(columns, axis=1))

    def variances(self, shares: Floats) -> list[float]:
        """(k,) what the inputs contribute of which the shares (inputs,) are given."""
        found: list[float] = ((self.derivatives * self.derivatives) @ shares).tolist()
        return found

    @property
    def covariance(self) -> Floats:
        """(k, k)."""
        product: Floats = self.derivatives @ self.derivatives.T
        return product

    def budget(self, row: int) -> tuple[Share, ...]:
        """Shares of the variance that come from each source, largest first."""
        total = sum(self.parts[row])
        least = ROUNDING * total
        pairs = [(p, s) for p, s in zip(self.parts[row], self.sources, strict=True) if p > least]
        pairs.sort(reverse=True)
        return tuple([Share(source, part / total) for part, source in pairs])


def effective_degrees_of_freedom(
    total: Sequence[float], groups: Sequence[tuple[Sequence[float], float]]
) -> list[float | None]:
    """Welch and Satterthwaite's, for each characteristic; None: infinite.

    total: (k,) variances; groups: variances (k,) of what shares one estimated scale, with the
    degrees of freedom of that scale. The rest is taken as known.
    """
    freedoms: list[float | None] = []
    for row, variance in enumerate(total):
        known = [part[row] for part, _ in groups]
        rest = max(0.0, variance - sum(known))
        effective = welch_satterthwaite(
            [math.sqrt(part) for part in (*known, rest)],
            [freedom for _, freedom in groups] + [math.inf],
        )
        freedoms.append(None if math.isinf(effective) else effective)
    return freedoms
