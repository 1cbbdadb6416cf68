"""What each source contributes to each characteristic, and so their covariance.

Every input is scaled to unit variance and none is correlated with another, so that the covariance
of the characteristics is G G' with G (k, inputs) their derivatives. A source is one or more runs
of columns: the points of one feature, the squareness of the faces, or one common cause (one
column that moves all points together: fully correlated).
"""

from collections.abc import Sequence
from itertools import accumulate, repeat
from typing import NamedTuple

import numpy as np

from app.chassis.result import Share, Shared
from app.chassis.survey import Floats

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
    """sources: names in order; parts: (k, sources), the variance of each characteristic by each
    source; covariance: (k, k); derivatives: (k, inputs); runs: of the inputs."""

    sources: tuple[str, ...]
    parts: Floats
    covariance: Floats
    derivatives: Floats
    runs: tuple[Run, ...]

    @classmethod
    def of(cls, runs: Sequence[Run], derivatives: Floats) -> "Contributions":
        """derivatives: (k, inputs), of the characteristics by inputs of unit variance."""
        met = [run for run in runs if run.columns]
        starts = list(accumulate([run.columns for run in met[:-1]], initial=0))
        by_run = np.add.reduceat(derivatives * derivatives, starts, axis=1)
        places = {source: i for i, source in enumerate(dict.fromkeys([run.source for run in met]))}
        belongs = np.zeros((len(met), len(places)))
        for row, run in zip(belongs, met, strict=True):
            row[places[run.source]] = 1.0
        covariance = derivatives.dot(derivatives.T)
        return cls(tuple(places), by_run.dot(belongs), covariance, derivatives, tuple(met))

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

    def variances(self, shares: Floats) -> Floats:
        """(k,) what the inputs contribute of which the shares (inputs,) are given."""
        found: Floats = (self.derivatives * self.derivatives) @ shares
        return found

    def budgets(self) -> list[tuple[Share, ...]]:
        """For each characteristic the shares of its variance by source, largest first."""
        order = (-self.parts).argsort(axis=1, kind="stable").tolist()
        return [
            self._budget(row, places)
            for row, places in zip(self.parts.tolist(), order, strict=True)
        ]

    def _budget(self, parts: list[float], order: list[int]) -> tuple[Share, ...]:
        total = sum(parts)
        least, sources = ROUNDING * total, self.sources
        met = [(sources[i], parts[i] / total) for i in order if parts[i] > least]
        # A result has hundreds of shares, and their own constructor takes twice as long.
        return tuple(map(tuple.__new__, repeat(Share), met))
