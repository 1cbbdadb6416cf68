"""The checks of a survey against itself: scatter against claims, returns against firsts."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from app.chassis import axes, head_face, surfaces
from app.chassis.estimate import (
    Axis,
    estimate,
    pivot_axis,
    residuals_without,
    steering_axis,
)
from app.chassis.head_face import Face
from app.chassis.noise_check import Noise, noise_check
from app.chassis.preparation import Prepared
from app.chassis.result import RigCheck
from app.chassis.rig_check import Repeat, rig_check
from app.chassis.stacking import Stack
from app.chassis.survey import Floats
from app.metrology.estimation import Estimate


@dataclass(frozen=True, slots=True)
class SetUp:
    """The checks, and the estimate that stands: with the returns unless the set-up moved."""

    noise: Noise
    rig: RigCheck
    prepared: Prepared
    stack: Stack
    fitted: Estimate
    pivot: Axis
    steering: Axis | None


def check(prepared: Prepared, stack: Stack, fitted: Estimate, squareness: float) -> SetUp:
    """Test the noise, then the returns. fitted: of all rows; squareness: rad."""
    pivot, steering = found_axes(prepared, fitted)
    faces = _Faces(prepared, pivot, steering, squareness)
    repeated = not stack.first.all()
    left, fewer = (
        residuals_without(stack, fitted, stack.first)
        if repeated
        else (fitted.residuals, stack.observations)
    )
    noise = noise_check([(float(left @ left), fewer.count - fewer.unknowns), *faces.scatter()])
    if not repeated and not faces.repeated:
        return SetUp(noise, rig_check(None, None, noise), prepared, stack, fitted, pivot, steering)
    returns = _Returns(prepared, stack, fitted, left, fewer)
    rig = rig_check(returns.steering(), _joined([*returns.datum(), *faces.returns()]), noise)
    if rig.verdict == "moved":
        prepared = prepared.without_returns()
        stack = prepared.stacked()
        fitted = estimate(stack)
        pivot, steering = found_axes(prepared, fitted)
    return SetUp(noise, rig, prepared, stack, fitted, pivot, steering)


def found_axes(prepared: Prepared, fitted: Estimate) -> tuple[Axis, Axis | None]:
    pivot = pivot_axis(fitted.parameters, prepared.pivot_frame)
    if prepared.steering is None:
        return pivot, None
    return pivot, steering_axis(fitted.parameters, prepared.steering)


def _joined(parts: list[Repeat]) -> Repeat | None:
    if not parts:
        return None
    return Repeat(
        sum(part.statistic for part in parts),
        sum(part.degrees_of_freedom for part in parts),
        lambda: np.sum([part.slip() for part in parts], axis=0),
    )


class _Returns:
    """Returned rows of the stack: targets are steering, pivot and bore points are datum."""

    def __init__(
        self,
        prepared: Prepared,
        stack: Stack,
        fitted: Estimate,
        left: Floats,
        fewer: axes.Observations,
    ) -> None:
        self.prepared, self.stack, self.fitted = prepared, stack, fitted
        self.pivots = 3 * stack.observations.blocks[0].last
        self.first_pivots = 3 * fewer.blocks[0].last
        self.left = left
        self.targets = self._returned("steer_target")
        self.bore = self._returned("head_bore")

    def _returned(self, feature: str) -> NDArray[np.bool_]:
        mask = np.zeros(len(self.stack.first), dtype=bool)
        rows = self.stack.rows(feature)
        mask[rows] = ~self.stack.first[rows]
        return mask

    def steering(self) -> Repeat | None:
        count = int(np.count_nonzero(self.targets))
        if not count:
            return None
        stations = {self.prepared.points.survey.station[i] for i in self.prepared.arcs.returned}
        return Repeat(
            self._growth(self.targets, self.bore),
            3 * count - len(stations),
            self._slip(self.targets),
        )

    def datum(self) -> list[Repeat]:
        parts = []
        pivots = self._returned("pivot")
        if pivots.any():
            now, before = self.fitted.residuals[: self.pivots], self.left[: self.first_pivots]
            grown = float(now @ now - before @ before)
            parts.append(Repeat(grown, 2 * int(np.count_nonzero(pivots)), self._slip(pivots)))
        if self.bore.any():
            grown = self._growth(self.bore, self.targets)
            parts.append(Repeat(grown, 2 * int(np.count_nonzero(self.bore)), self._slip(self.bore)))
        return parts

    def _growth(self, rows: NDArray[np.bool_], others: NDArray[np.bool_]) -> float:
        """How much chi-square of the steering axis grows when these returns alone are added."""
        before = self.left[self.first_pivots :]
        if not others.any():
            now = self.fitted.residuals[self.pivots :]
            return float(now @ now - before @ before)
        chosen = self.stack.first | rows
        chosen[: self.pivots // 3] = self.stack.first[: self.pivots // 3]
        added, _ = residuals_without(self.stack, self.fitted, chosen)
        now = added[self.first_pivots :]
        return float(now @ now - before @ before)

    def _slip(self, rows: NDArray[np.bool_]) -> Callable[[], Floats]:
        return lambda: _seen(self.prepared, self.stack, self.fitted, rows)


def _seen(prepared: Prepared, stack: Stack, fitted: Estimate, rows: NDArray[np.bool_]) -> Floats:
    """(3, 3): what a shift of some rows leaves in the residuals of the whole estimate, squared."""
    count = len(stack.first)
    shifted = np.zeros((count, 3, 3))
    frames = [prepared.pivot_frame]
    if prepared.steering is not None:
        frames.append(prepared.steering.frame)
    for block, frame in zip(stack.observations.blocks, frames, strict=False):
        shifted[block.first : block.last] = frame.T
    shifted[~rows] = 0.0
    pattern = np.zeros((len(fitted.residuals), 3))
    pattern[: 3 * count] = axes.whiten(stack.observations.whitening, shifted).reshape(-1, 3)
    followed = fitted.basis.T @ pattern
    seen: Floats = pattern.T @ pattern - followed.T @ followed
    return seen


class _Faces:
    """The faces as first measured, and with their returns: all may lean out of square."""

    def __init__(
        self, prepared: Prepared, pivot: Axis, steering: Axis | None, squareness: float
    ) -> None:
        self.squareness = squareness
        points, rest = prepared.points, (prepared.xyz, prepared.offset, prepared.uncertainty)
        self.measured = surfaces.pivot_faces(points, pivot, *rest)
        firsts = points.first.get("head_face", [])
        if steering is not None and firsts:
            face = surfaces.head_face(points.of("head_face"), steering, *rest)
            self.measured.append((face, len(firsts)))

    @property
    def repeated(self) -> bool:
        return any(len(face.height) > firsts for face, firsts in self.measured)

    def scatter(self) -> list[tuple[float, int]]:
        return [head_face.scatter(face.only(slice(firsts))) for face, firsts in self.measured]

    def returns(self) -> list[Repeat]:
        return [
            self._repeat(face, firsts)
            for face, firsts in self.measured
            if len(face.height) > firsts
        ]

    def _repeat(self, face: Face, firsts: int) -> Repeat:
        whole = head_face.plane(face, self.squareness)
        first = head_face.plane(face.only(slice(firsts)), self.squareness)
        pattern = np.zeros(len(face.height))
        pattern[firsts:] = 1.0
        left = pattern - face.design @ (whole.gain @ pattern)
        size = float(pattern @ (left / face.variance))
        axis = face.frame[:, 2]
        seen = np.outer(axis, axis) * size
        return Repeat(whole.chi_square - first.chi_square, len(face.height) - firsts, lambda: seen)
