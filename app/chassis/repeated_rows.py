"""Returned points of the axes against the first ones: targets are steering, the rest datum."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from app.chassis.estimate import Selection
from app.chassis.estimated import Estimated
from app.chassis.preparation import Prepared
from app.chassis.rig_check import Repeat
from app.chassis.stacking import Stack
from app.chassis.survey import Floats
from app.metrology.estimation import Estimate

Marks = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class First:
    """left: residuals of the points measured first, estimated alone, of which the first
    `pivot_rows` are the pivot's; degrees_of_freedom: of all."""

    left: Floats
    degrees_of_freedom: int
    pivot_rows: int

    @property
    def of_pivot(self) -> tuple[float, int]:
        """Chi-square and degrees of freedom; unknown are the axis and each point's place on it."""
        left = self.left[: self.pivot_rows]
        return float(left @ left), self.pivot_rows // 3 * 2 - 4

    @property
    def of_steering(self) -> tuple[float, int]:
        left = self.left[self.pivot_rows :]
        return float(left @ left), self.degrees_of_freedom - self.of_pivot[1]


class RepeatedRows:
    """What the returned points add to the first ones."""

    def __init__(self, made: Estimated, first: First) -> None:
        self.made, self.first = made, first
        self.prepared, self.stack, self.fitted = made.prepared, made.stack, made.fitted
        self.targets = self._returned("steer_target")
        self.bore = self._returned("head_bore")

    def _returned(self, feature: str) -> Marks:
        marks = np.zeros(len(self.stack.first), dtype=bool)
        rows = self.stack.rows(feature)
        marks[rows] = ~self.stack.first[rows]
        return marks

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
        if pivots.any():
            now = self.fitted.residuals[: 3 * self.stack.observations.blocks[0].last]
            grown = float(now @ now) - self.first.of_pivot[0]
            parts.append(Repeat(grown, 2 * int(np.count_nonzero(pivots)), self._slip(pivots)))
        if self.bore.any():
            grown = self._growth(self.bore, self.targets)
            count = int(np.count_nonzero(self.bore))
            parts.append(Repeat(grown, 2 * count, self._slip(self.bore)))
        return parts

    def _growth(self, rows: Marks, others: Marks) -> float:
        """How much chi-square of the steering axis grows when these returns alone are added."""
        pivots = self.stack.observations.blocks[0].last
        if others.any() and self.made.alone is None:
            chosen = self.stack.first | rows
            chosen[:pivots] = False
            now = Selection(self.stack, chosen).residuals(self.fitted)
        else:
            now = self.fitted.residuals[3 * pivots : self.stack.observations.axis_rows]
        return float(now @ now) - self.first.of_steering[0]

    def _slip(self, rows: Marks) -> Callable[[], Floats]:
        return lambda: seen_shift(self.prepared, self.stack, self.fitted, rows)


def seen_shift(prepared: Prepared, stack: Stack, fitted: Estimate, rows: Marks) -> Floats:
    """(3, 3), mm⁻²: what a shift of some points leaves in the residuals of the estimate, squared.

    A shift that the unknowns can follow (a turn about the steering axis) leaves nothing.
    """
    places = rows.nonzero()[0]
    observations = stack.observations
    pivots = observations.blocks[0].last
    frames = [
        prepared.pivot_frame if place < pivots else _steering_frame(prepared) for place in places
    ]
    whitening = observations.whitening[places]
    shifted = np.array(frames).transpose(0, 2, 1)
    shifted = shifted * whitening[:, :, np.newaxis] if whitening.ndim == 2 else whitening @ shifted
    pattern = shifted.reshape(-1, 3)
    slopes = fitted.slopes[: 3 * len(rows)].reshape(len(rows), 3, -1)[places]
    followed = pattern.T @ slopes.reshape(len(pattern), -1)
    seen: Floats = pattern.T @ pattern - followed @ fitted.covariance @ followed.T
    return seen


def _steering_frame(prepared: Prepared) -> Floats:
    assert prepared.steering is not None
    return prepared.steering.frame
