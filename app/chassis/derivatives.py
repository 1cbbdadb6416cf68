"""Derivatives of the head's quantities by every input, each input scaled to unit variance.

What reaches a quantity by way of the axes is carried through the estimate's own derivatives; the
face's height and the sides' places are carried by their weights.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from app.chassis import axes, head
from app.chassis.contributions import Contributions, Run
from app.chassis.datum import Side
from app.chassis.estimate import Axis
from app.chassis.features import SIDES
from app.chassis.frames import dot
from app.chassis.head import Quantity
from app.chassis.head_face import Face, Plane
from app.chassis.preparation import Prepared
from app.chassis.stacking import Stack
from app.chassis.survey import Floats
from app.metrology.estimation import Estimate

SIDE_COLUMNS = dict(zip(SIDES, (head.LEFT, head.RIGHT), strict=True))
COMMON_COLUMNS = 4
OUTWARD = dict(zip(SIDES, (1.0, -1.0), strict=True))


@dataclass(frozen=True, slots=True)
class Inputs:
    """All that the head's quantities were computed from."""

    prepared: Prepared
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


def head_contributions(
    inputs: Inputs, quantities: Sequence[Quantity], factors: Floats
) -> Contributions:
    """What contributes to the quantities times their factors (k,), which set their units."""
    gradient = np.array([quantity.gradient for quantity in quantities], dtype=np.float64)
    gradient = gradient.reshape(-1, head.COLUMNS) * factors[:, np.newaxis]
    stacked, faced = _by_rows(inputs, gradient), _by_face(inputs, gradient)
    for place, quantity in enumerate(quantities):
        if quantity.by_row is not None:
            stacked[place] += quantity.by_row * factors[place]
        if quantity.by_face is not None:
            faced[place] += quantity.by_face * factors[place]
    few = _Few(inputs)
    derivatives = np.concatenate(
        (
            stacked * inputs.birge_ratio,
            faced,
            gradient[:, few.columns] * few.sizes,
            _in_common(inputs, gradient, stacked, faced),
        ),
        axis=1,
    )
    runs = [Run(name, 3 * rows) for name, rows in inputs.stack.sources]
    runs.append(Run("target_spacing", stacked.shape[1] - 3 * len(inputs.stack.places)))
    runs.append(Run("head_face", faced.shape[1]))
    runs += [Run(name, 1) for name in few.names]
    runs += [Run("instrument_offset", 1), Run("instrument_scale", 1), Run("temperature", 2)]
    return Contributions.of(runs, derivatives)


def _by_face(inputs: Inputs, gradient: Floats) -> Floats:
    """(k, m): by each point of the head's face."""
    if inputs.face is None or inputs.plane is None:
        return np.zeros((len(gradient), 0))
    sizes = inputs.plane.gain[0] * np.sqrt(inputs.face.variance)
    by_point: Floats = np.multiply.outer(gradient[:, head.HEIGHT], sizes)
    return by_point


def _by_rows(inputs: Inputs, gradient: Floats) -> Floats:
    """(k, rows): by each whitened row of the stack."""
    by_vector = gradient[:, :12].copy()
    for name, side in inputs.sides.items():
        by_vector[:, :3] += np.multiply.outer(gradient[:, SIDE_COLUMNS[name]], side.point)
    if inputs.plane is not None:
        by_vector[:, 6:] += np.multiply.outer(gradient[:, head.HEIGHT], inputs.plane.by_axis[0])
    by_unknown = by_vector[:, :6] @ inputs.pivot.slopes
    if inputs.steering is not None:
        by_unknown = np.concatenate((by_unknown, by_vector[:, 6:] @ inputs.steering.slopes), axis=1)
    inverse = inputs.fitted.inverse[: by_unknown.shape[1]]
    by_row: Floats = (by_unknown @ -inverse) @ inputs.fitted.basis.T
    return by_row


def estimated(inputs: Inputs) -> Floats:
    """(inputs,): the share of each input whose size is an estimate, in the order of the columns.

    All points when the noise check made them grow; else those whose u replicates replaced.
    """
    prepared = inputs.prepared
    noisier, replaced = inputs.birge_ratio > 1.0, prepared.uncertainty.replaced
    if noisier or replaced is None:
        replaced = np.ones(len(prepared.xyz), dtype=bool)
    places = inputs.stack.places
    spaced = len(inputs.fitted.residuals) - 3 * len(places)
    shares = [np.repeat(replaced[places], 3), np.full(spaced, noisier)]
    if inputs.face is not None:
        shares.append(replaced[prepared.points.of("head_face")])
    sides = iter(inputs.sides.values())
    few = [
        (1.0 if noisier else next(sides).replaced_share) if name == "pivot_face" else 0.0
        for name in _Few(inputs).names
    ]
    return np.concatenate([*shares, few, np.zeros(COMMON_COLUMNS)])


class _Few:
    """Inputs that reach a quantity only by one column of its gradient: faces and squareness."""

    def __init__(self, inputs: Inputs) -> None:
        self.names: list[str] = []
        self.columns: list[int] = []
        self.sizes: list[float] = []
        tilt = math.tan(inputs.squareness)
        for name, side in inputs.sides.items():
            self._add("pivot_face", SIDE_COLUMNS[name], side.u * inputs.birge_ratio)
            self._add("face_squareness", SIDE_COLUMNS[name], side.lever * tilt)
        if inputs.plane is not None:
            self._add("face_squareness", head.HEIGHT, inputs.plane.height_squareness_u)

    def _add(self, name: str, column: int, size: float) -> None:
        self.names.append(name)
        self.columns.append(column)
        self.sizes.append(size)


def _in_common(inputs: Inputs, gradient: Floats, stacked: Floats, faced: Floats) -> Floats:
    """(k, 4): offset, scale and the two of temperature, which move all points together."""
    lifted, grown = np.zeros(head.COLUMNS), np.zeros(head.COLUMNS)
    for name, side in inputs.sides.items():
        lifted[SIDE_COLUMNS[name]] = -OUTWARD[name] * side.offset_share
        grown[SIDE_COLUMNS[name]] = dot(side.point, inputs.pivot.direction)
    by_lift, by_growth = gradient @ lifted, gradient @ grown
    by_growth += stacked[:, : 3 * len(inputs.stack.places)] @ _growth(inputs)
    if inputs.face is not None and inputs.plane is not None and inputs.steering is not None:
        sizes = np.sqrt(inputs.face.variance)
        by_lift += faced @ (inputs.face.lifted / sizes)
        along_normal = (inputs.face.arm + inputs.steering.point) @ inputs.plane.normal
        by_growth += faced @ (along_normal / sizes)
    expansion = inputs.prepared.expansion
    common = (inputs.scale_u, expansion.u_temperature, expansion.u_coefficient)
    return np.column_stack((by_lift * inputs.offset_u, np.multiply.outer(by_growth, common)))


def _growth(inputs: Inputs) -> Floats:
    """(3 n,): how the whitened rows change when everything grows about the pivot."""
    observations = inputs.stack.observations
    place = observations.position
    if len(observations.blocks) > 1:
        place = place.copy()
        place[observations.blocks[1].first :] += inputs.steering_shift
    return axes.whiten(observations.whitening, place).ravel()
