"""Returned points of the axes against the first ones: targets are steering, the rest datum."""

from collections.abc import Callable

import numpy as np

from app.chassis.estimate import Selection
from app.chassis.estimated import Estimated
from app.chassis.preparation import Prepared
from app.chassis.rig_check import Repeat
from app.chassis.stacking import Stack
from app.chassis.survey import Floats
from app.metrology.estimation import Estimate


class RepeatedRows:
    """What the returned points add to the first ones."""

    def __init__(self, made: Estimated) -> None:
        self.made, self.first = made, made.first
        self.prepared, self.stack, self.fitted = made.prepared, made.stack, made.fitted
        self.targets = self._returned("steer_target")
        self.bore = self._returned("head_bore")

    def _returned(self, feature: str) -> list[int]:
        rows = self.stack.rows(feature)
        first = self.stack.first[rows].tolist()
        return [row for row, was_first in enumerate(first, rows.start) if not was_first]

    def steering(self) -> Repeat | None:
        """Returned targets: three observations each, and one unknown angle for each station."""
        count = len(self.prepared.arcs.returned)
        if not count:
            return None
        station = self.prepared.points.survey.station
        stations = {station[i] for i in self.prepared.arcs.returned}
        return Repeat(
            self._growth(self.targets, self.bore),
            3 * count - len(stations),
            self._slip(self.targets),
        )

    def datum(self) -> list[Repeat]:
        """Returned points of the pivot and of the bore: two observations each."""
        parts = []
        pivots = self._returned("pivot")
        if pivots:
            now = self.fitted.residuals[: 3 * self.stack.observations.blocks[0].last]
            grown = float(now.dot(now)) - self.first.of_pivot[0]
            parts.append(Repeat(grown, 2 * len(pivots), self._slip(pivots)))
        if self.bore:
            grown = self._growth(self.bore, self.targets)
            parts.append(Repeat(grown, 2 * len(self.bore), self._slip(self.bore), False))
        return parts

    def _growth(self, rows: list[int], others: list[int]) -> float:
        """How much chi-square of the steering axis grows when these returns alone are added."""
        pivots = self.stack.observations.blocks[0].last
        if others and self.made.alone is None:
            chosen = self.stack.first.copy()
            chosen[rows] = True
            chosen[:pivots] = False
            now = Selection(self.stack, chosen).residuals(self.fitted)
        else:
            now = self.fitted.residuals[3 * pivots : self.stack.observations.axis_rows]
        return float(now.dot(now)) - self.first.of_steering[0]

    def _slip(self, rows: list[int]) -> Callable[[], Floats]:
        return lambda: seen_shift(self.prepared, self.stack, self.fitted, rows)


def seen_shift(prepared: Prepared, stack: Stack, fitted: Estimate, rows: list[int]) -> Floats:
    """(3, 3), mm⁻²: what a shift of some points leaves in the residuals of the estimate, squared.

    rows: all of the pivot's block, or all of the steering's. A shift that the unknowns can follow
    (a turn about the steering axis) leaves nothing.
    """
    observations, start = stack.observations, prepared.steering
    pivots = observations.blocks[0].last
    frame = prepared.pivot_frame if rows[0] < pivots or start is None else start.frame
    whitening = observations.whitening.take(rows, axis=0)
    if whitening.ndim == 2:
        pattern = (frame.T * whitening[:, :, np.newaxis]).reshape(-1, 3)
    else:
        pattern = (whitening @ frame.T).reshape(-1, 3)
    places = [3 * row + k for row in rows for k in range(3)]
    followed = pattern.T.dot(fitted.slopes.take(places, axis=0))
    seen: Floats = pattern.T.dot(pattern) - followed.dot(fitted.covariance).dot(followed.T)
    return seen
