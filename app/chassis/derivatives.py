"""Derivatives of the head's quantities by every input, each input scaled to unit variance.

What reaches a quantity by way of the axes is carried through the estimate's own derivatives; the
face's height and the sides' places are carried by their weights.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from app.chassis import axes, head
from app.chassis.contributions import Contributions, Run
from app.chassis.datum import Side
from app.chassis.estimate import Axis
from app.chassis.features import SIDES
from app.chassis.frames import dot
from app.chassis.head_face import Face, Plane
from app.chassis.preparation import Prepared
from app.chassis.stacking import Stack
from app.chassis.survey import Floats
from app.metrology.estimation import Estimate
from app.metrology.thermal import Expansion

SIDE_COLUMNS = dict(zip(SIDES, (head.LEFT, head.RIGHT), strict=True))
OUTWARD = dict(zip(SIDES, (1.0, -1.0), strict=True))


@dataclass(frozen=True, slots=True)
class Inputs:
    """All that the head's quantities were computed from."""

    stack: Stack
    fitted: Estimate
    pivot: Axis
    steering: Axis | None
    steering_shift: Floats
    """(3,): origin of the steering block in its own frame, mm."""
    sides: Mapping[str, Side]
    face: Face | None
    plane: Plane | None
    birge_ratio: float
    squareness: float
    """rad."""
    offset_u: float
    scale_u: float
    """Relative."""
    expansion: Expansion


def head_contributions(inputs: Inputs, gradient: Floats) -> Contributions:
    """gradient: (k, 15), columns as in `head`."""
    stacked = _by_rows(inputs, gradient)
    few = _Few(inputs)
    common = few.in_common(gradient, stacked)
    derivatives = np.concatenate(
        (stacked * inputs.birge_ratio, gradient[:, few.columns] * few.sizes, common), axis=1
    )
    runs = [Run(name, 3 * rows) for name, rows in inputs.stack.sources]
    spaced = stacked.shape[1] - 3 * len(inputs.stack.places)
    runs.append(Run("target_spacing", spaced))
    runs += [Run(name, 1) for name in few.names]
    runs += [Run("instrument_offset", 1), Run("instrument_scale", 1), Run("temperature", 2)]
    return Contributions.of(runs, derivatives)


def _by_rows(inputs: Inputs, gradient: Floats) -> Floats:
    """(k, rows): by each whitened row of the stack."""
    by_vector = gradient[:, :12].copy()
    for name, side in inputs.sides.items():
        by_vector[:, :3] += np.multiply.outer(gradient[:, SIDE_COLUMNS[name]], side.point)
    if inputs.plane is not None:
        by_vector[:, 6:] += np.multiply.outer(gradient[:, head.HEIGHT], inputs.plane.by_axis)
    by_unknown = by_vector[:, :6] @ inputs.pivot.slopes
    if inputs.steering is not None:
        by_unknown = np.concatenate((by_unknown, by_vector[:, 6:] @ inputs.steering.slopes), axis=1)
    inverse = inputs.fitted.inverse[: by_unknown.shape[1]]
    by_row: Floats = (by_unknown @ -inverse) @ inputs.fitted.basis.T
    return by_row


def estimated(inputs: Inputs, prepared: Prepared) -> Floats:
    """(inputs,): the share of each input whose size is an estimate, in the order of the columns.

    All points when the noise check made them grow; else those whose u replicates replaced.
    """
    replaced = prepared.uncertainty.replaced
    if inputs.birge_ratio > 1.0 or replaced is None:
        replaced = np.ones(len(prepared.xyz), dtype=bool)
    few = _Few(inputs)
    spaced = len(inputs.fitted.residuals) - 3 * len(inputs.stack.places)
    shares = np.zeros(len(inputs.fitted.residuals) + len(few.names) + 4)
    shares[: 3 * len(inputs.stack.places)] = np.repeat(replaced[inputs.stack.places], 3)
    shares[3 * len(inputs.stack.places) :][:spaced] = inputs.birge_ratio > 1.0
    sides = iter(inputs.sides.values())
    for place, name in enumerate(few.names, len(inputs.fitted.residuals)):
        if name == "pivot_face":
            side = next(sides)
            shares[place] = 1.0 if inputs.birge_ratio > 1.0 else side.replaced_share
        elif name == "head_face" and inputs.face is not None and inputs.plane is not None:
            parts = inputs.plane.gain[0] ** 2 * inputs.face.variance
            shares[place] = parts[replaced[prepared.points.of("head_face")]].sum() / parts.sum()
    return shares


class _Few:
    """Inputs that reach a quantity only by one column of its gradient: faces and squareness."""

    def __init__(self, inputs: Inputs) -> None:
        self.inputs = inputs
        self.names: list[str] = []
        self.columns: list[int] = []
        self.sizes: list[float] = []
        tilt = math.tan(inputs.squareness)
        for name, side in inputs.sides.items():
            self._add("pivot_face", SIDE_COLUMNS[name], side.u * inputs.birge_ratio)
            self._add("face_squareness", SIDE_COLUMNS[name], side.lever * tilt)
        if inputs.plane is not None:
            self._add("head_face", head.HEIGHT, inputs.plane.height_u)
            self._add("face_squareness", head.HEIGHT, inputs.plane.height_squareness_u)

    def _add(self, name: str, column: int, size: float) -> None:
        self.names.append(name)
        self.columns.append(column)
        self.sizes.append(size)

    def in_common(self, gradient: Floats, stacked: Floats) -> Floats:
        """(k, 4): offset, scale and the two of temperature, which move all points together."""
        inputs = self.inputs
        lifted, grown = np.zeros(head.COLUMNS), np.zeros(head.COLUMNS)
        for name, side in inputs.sides.items():
            lifted[SIDE_COLUMNS[name]] = -OUTWARD[name] * side.offset_share
            grown[SIDE_COLUMNS[name]] = dot(side.point, inputs.pivot.direction)
        if inputs.face is not None and inputs.plane is not None and inputs.steering is not None:
            gain = inputs.plane.gain[0]
            lifted[head.HEIGHT] = float(gain @ inputs.face.lifted)
            places = inputs.face.arm + inputs.steering.point
            grown[head.HEIGHT] = float(gain @ (places @ inputs.plane.normal))
        by_growth = gradient @ grown
        by_growth += stacked[:, : 3 * len(inputs.stack.places)] @ _growth(inputs)
        expansion = inputs.expansion
        sizes = (inputs.scale_u, expansion.u_temperature, expansion.u_coefficient)
        return np.column_stack(
            (gradient @ lifted * inputs.offset_u, np.multiply.outer(by_growth, sizes))
        )


def _growth(inputs: Inputs) -> Floats:
    """(3 n,): how the whitened rows change when everything grows about the pivot."""
    observations = inputs.stack.observations
    place = observations.position
    if len(observations.blocks) > 1:
        place = place.copy()
        place[observations.blocks[1].first :] += inputs.steering_shift
    return axes.whiten(observations.whitening, place).ravel()
