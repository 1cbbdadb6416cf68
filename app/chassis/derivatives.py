"""Derivatives of the head's quantities by every input, each input scaled to unit variance.

What a quantity depends on are unknowns of the one estimate, so that everything is carried through
the estimate's own derivatives. Beside the rows there is only the lean of the faces beside the
pivot, and what moves all points together.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from app.chassis import axes, head
from app.chassis.contributions import Contributions, Run
from app.chassis.estimate import Axis
from app.chassis.frames import along, dot, minus
from app.chassis.head import Quantity
from app.chassis.observations import HeadFace
from app.chassis.preparation import Prepared
from app.chassis.rotation import rotation
from app.chassis.stacking import PIVOT_COLUMN, STEERING_COLUMN, Stack
from app.chassis.surface_rows import HIERARCHY
from app.chassis.survey import Floats
from app.metrology.estimation import Estimate

SIDE_COLUMNS = {"left": head.LEFT, "right": head.RIGHT}
COMMON = (Run("instrument_offset", 1), Run("instrument_scale", 1), Run("temperature", 2))


@dataclass(frozen=True, slots=True)
class Inputs:
    """All that the head's quantities were computed from."""

    prepared: Prepared
    stack: Stack
    fitted: Estimate
    pivot: Axis
    steering: Axis | None
    noisier: bool


def head_contributions(
    inputs: Inputs, quantities: Sequence[Quantity], factors: Floats
) -> Contributions:
    """What contributes to the quantities times their factors (k,), which set their units."""
    gradient = np.array([quantity.gradient for quantity in quantities], dtype=np.float64)
    gradient = gradient.reshape(-1, head.COLUMNS) * factors[:, np.newaxis]
    by_row = _by_rows(inputs, gradient)
    for place, quantity in enumerate(quantities):
        if quantity.by_row is not None:
            by_row[place] += quantity.by_row * factors[place]
    lean = [(SIDE_COLUMNS[name], size) for name, size in _leans(inputs).items()]
    by_lean = gradient[:, [column for column, _ in lean]] * [size for _, size in lean]
    runs, sizes = _rows(inputs)
    derivatives = np.concatenate((by_row * sizes, by_lean, _in_common(inputs, by_row)), axis=1)
    return Contributions.of([*runs, Run("face_squareness", len(lean)), *COMMON], derivatives)


def _by_rows(inputs: Inputs, gradient: Floats) -> Floats:
    """(k, rows): by each row of the estimate."""
    by_unknown = np.zeros((len(gradient), inputs.stack.observations.unknowns))
    by_unknown[:, PIVOT_COLUMN : PIVOT_COLUMN + 4] = gradient[:, :6] @ inputs.pivot.slopes
    if inputs.steering is not None:
        of_steering = gradient[:, 6:12] @ inputs.steering.slopes
        by_unknown[:, STEERING_COLUMN : STEERING_COLUMN + 4] = of_steering
    for name, column in inputs.stack.side_columns.items():
        by_unknown[:, column] = gradient[:, SIDE_COLUMNS[name]]
    if inputs.stack.observations.head is not None:
        by_unknown[:, inputs.stack.observations.head.column] = gradient[:, head.HEIGHT]
    return np.asarray((by_unknown @ inputs.fitted.covariance) @ inputs.fitted.slopes.T)


def _rows(inputs: Inputs) -> tuple[list[Run], Floats]:
    """Which source each row belongs to, and the size of its input in units of the row."""
    stack, observations = inputs.stack, inputs.stack.observations
    head_points = len(stack.head_places)
    runs = [Run(name, 3 * count) for name, count in stack.sources]
    runs.append(Run("target_spacing", len(observations.spacings)))
    runs.append(Run("pivot_face", sum(len(places) for places in stack.side_places.values())))
    runs += [Run("head_face", head_points), Run("face_squareness", 2 if head_points else 0)]
    sizes = np.full(observations.rows, HIERARCHY)
    sizes[: observations.axis_rows] = 1.0
    return runs, sizes


def _leans(inputs: Inputs) -> dict[str, float]:
    """For each side: what a lean of its face does at the mean point, mm."""
    found = {}
    for name, places in inputs.stack.side_places.items():
        weights = [1.0 / float(inputs.prepared.uncertainty.variance[i]) for i in places]
        arm = (0.0, 0.0, 0.0)
        for i, weight in zip(places, weights, strict=True):
            arm = along(arm, weight / sum(weights), inputs.prepared.vectors[i])
        arm = minus(arm, inputs.pivot.point)
        beside = along(arm, -dot(arm, inputs.pivot.direction), inputs.pivot.direction)
        found[name] = math.sqrt(dot(beside, beside)) * math.tan(inputs.prepared.squareness)
    return found


def _in_common(inputs: Inputs, by_row: Floats) -> Floats:
    """(k, 4): offset, scale and the two of temperature, which move all points together."""
    instrument, expansion = inputs.prepared.points.survey.instrument, inputs.prepared.expansion
    lifted, grown = _common_rows(inputs)
    common = (
        instrument.scale_u_ppm * 1e-6,
        expansion.u_temperature,
        expansion.u_coefficient,
    )
    return np.column_stack(
        (by_row @ lifted * instrument.offset_u_mm, np.multiply.outer(by_row @ grown, common))
    )


def _common_rows(inputs: Inputs) -> tuple[Floats, Floats]:
    """(rows,) each: how the observed values change by a millimetre on every offset, and when
    everything grows about the pivot."""
    observations, steering = inputs.stack.observations, inputs.prepared.steering
    place, shift = observations.position, np.zeros(3)
    if steering is not None:
        shift = np.array(steering.origin) @ steering.frame
        place = place.copy()
        place[observations.blocks[1].first :] += shift
    lifted, grown = np.zeros(observations.rows), np.zeros(observations.rows)
    grown[: place.size] = axes.whitened(observations, place)
    if observations.sides is not None:
        sides, rows = observations.sides, observations.side_rows
        axis = np.array(inputs.pivot.direction) @ inputs.prepared.pivot_frame
        lifted[rows] = -np.sign(sides.offset) * HIERARCHY / sides.u
        grown[rows] = sides.place @ axis * HIERARCHY / sides.u
    if observations.head is not None:
        face, every = observations.head, observations.head_rows
        rows = slice(every.start, every.stop - 2)
        lifted[rows] = np.sign(face.offset) * HIERARCHY / face.u
        grown[rows] = (face.place + shift) @ _normal(inputs, face) * HIERARCHY / face.u
    return lifted, grown


def _normal(inputs: Inputs, face: HeadFace) -> Floats:
    """(3,): of the head's face, in the frame of the steering block."""
    parameters = inputs.fitted.parameters
    _, first, second = parameters[face.column : face.column + 3].tolist()
    turned = np.array(rotation(*parameters[face.axis : face.axis + 2].tolist()))
    return np.asarray(turned @ (-first, -second, 1.0))


def estimated(inputs: Inputs) -> Floats:
    """(inputs,): 1 for each input whose size is an estimate, in the order of the columns.

    All points when the noise check made them grow; else those whose u replicates replaced.
    """
    prepared, stack = inputs.prepared, inputs.stack
    replaced = prepared.uncertainty.replaced
    if inputs.noisier or replaced is None:
        replaced = np.ones(len(prepared.xyz), dtype=bool)
    sides = [i for places in stack.side_places.values() for i in places]
    spacings = np.full(len(stack.observations.spacings), inputs.noisier)
    known = (2 if stack.head_places else 0) + len(stack.side_places)
    known += sum(run.columns for run in COMMON)
    return np.concatenate(
        (
            np.repeat(replaced[stack.places], 3),
            spacings,
            replaced[sides],
            replaced[stack.head_places],
            # Squareness of the head, lean of the sides, common causes.
            np.zeros(known),
        )
    )
