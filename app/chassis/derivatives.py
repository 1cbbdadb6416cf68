"""Derivatives of the head's quantities by every input, each input scaled to unit variance.

What a quantity depends on are unknowns of the one estimate, so that everything is carried through
the estimate's own derivatives. Beside the rows there is only what moves all points together.
"""

from collections.abc import Sequence
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from app.chassis import axes, head
from app.chassis.contributions import Run
from app.chassis.estimate import Axis
from app.chassis.head import Quantity
from app.chassis.observations import HIERARCHY, HeadFace
from app.chassis.preparation import Prepared
from app.chassis.rotation import rotation
from app.chassis.stacking import PIVOT_COLUMN, STEERING_COLUMN, Stack
from app.chassis.survey import Floats
from app.metrology.estimation import Estimate

if TYPE_CHECKING:
    from app.chassis.further.fitted import Fitted

SIDE_COLUMNS = {"left": head.LEFT, "right": head.RIGHT}
OFFSET, SCALE, TEMPERATURE = "instrument_offset", "instrument_scale", "temperature"
SQUARENESS = "face_squareness"
SIDE_LEANS = {side: f"{SQUARENESS}.pivot_face.{side}" for side in ("left", "right")}
HEAD_TILTS = (f"{SQUARENESS}.head_face.first", f"{SQUARENESS}.head_face.second")


class Inputs(NamedTuple):
    """All that the head's quantities were computed from."""

    prepared: Prepared
    stack: Stack
    fitted: Estimate
    pivot: Axis
    steering: Axis | None
    noisier: bool
    further: "Fitted | None" = None
    """What lies beyond the head, where it was fitted already."""


def head_derivatives(
    inputs: Inputs, quantities: Sequence[Quantity], factors: Floats
) -> tuple[list[Run], Floats]:
    """The inputs, and derivatives (k, inputs) by them of the quantities times their factors (k,),
    which set their units."""
    gradient = np.array([quantity.gradient for quantity in quantities], dtype=np.float64)
    gradient = gradient.reshape(-1, head.COLUMNS) * factors[:, np.newaxis]
    by_row = by_rows(inputs, gradient)
    for place, quantity in enumerate(quantities):
        if quantity.by_row is not None:
            by_row[place] += quantity.by_row * factors[place]
    derivatives = np.concatenate((by_row, _in_common(inputs, by_row)), axis=1)
    derivatives[:, : by_row.shape[1]] *= row_sizes(inputs)
    return [*row_runs(inputs), *_common_runs(inputs)], derivatives


def _common_runs(inputs: Inputs) -> tuple[Run, ...]:
    material = inputs.prepared.growths["frame"].cause
    return (
        Run(OFFSET, 1, (OFFSET,)),
        Run(SCALE, 1, (SCALE,)),
        Run(TEMPERATURE, 2, (TEMPERATURE, f"expansion.{material}")),
    )


def by_rows(inputs: Inputs, gradient: Floats) -> Floats:
    """(k, rows): by each row of the estimate."""
    by_unknown = np.zeros((len(gradient), inputs.stack.observations.unknowns))
    by_unknown[:, PIVOT_COLUMN : PIVOT_COLUMN + 4] = gradient[:, :6].dot(inputs.pivot.slopes)
    if inputs.steering is not None:
        of_steering = gradient[:, 6:12].dot(inputs.steering.slopes)
        by_unknown[:, STEERING_COLUMN : STEERING_COLUMN + 4] = of_steering
    for name, column in inputs.stack.side_columns.items():
        by_unknown[:, column] = gradient[:, SIDE_COLUMNS[name]]
    if inputs.stack.observations.head is not None:
        by_unknown[:, inputs.stack.observations.head.column] = gradient[:, head.HEIGHT]
    found: Floats = by_unknown.dot(inputs.fitted.covariance).dot(inputs.fitted.slopes.T)
    return found


def row_runs(inputs: Inputs) -> list[Run]:
    """Which source each row of the estimate belongs to."""
    stack, observations = inputs.stack, inputs.stack.observations
    sides, head_points = observations.side_points, len(stack.head_places)
    runs = [Run(name, 3 * count) for name, count in stack.sources]
    runs += [
        Run("target_spacing", len(observations.spacings), _spacings(inputs)),
        Run("pivot_face", sides.stop - sides.start),
        Run(
            SQUARENESS,
            len(stack.side_places),
            tuple([SIDE_LEANS[side] for side in stack.side_places]),
        ),
        Run("head_face", head_points),
        Run(SQUARENESS, 2, HEAD_TILTS) if head_points else Run(SQUARENESS, 0),
    ]
    return runs


def _spacings(inputs: Inputs) -> tuple[str, ...]:
    bodies = inputs.stack.bodies
    if not inputs.stack.observations.spacings:
        return ()
    return tuple(
        [
            f"target_spacing.{one}.{other}"
            for one, other, _, _ in inputs.prepared.points.survey.target_spacing
            if one in bodies and other in bodies
        ]
    )


def row_sizes(inputs: Inputs) -> Floats:
    """(rows,): the size of each row's input in units of the row."""
    observations = inputs.stack.observations
    sizes = np.full(observations.rows, HIERARCHY)
    sizes[: observations.axis_rows] = 1.0
    return sizes


def _in_common(inputs: Inputs, by_row: Floats) -> Floats:
    """(k, 4): offset, scale and the two of temperature, which move all points together."""
    instrument = inputs.prepared.points.survey.instrument
    expansion = inputs.prepared.growths["frame"].expansion
    scale_u = instrument.scale_u_ppm * 1e-6
    # One growth moves the points; scale, temperature and coefficient each are a cause of it.
    sizes = (
        (instrument.offset_u_mm, 0.0, 0.0, 0.0),
        (0.0, scale_u, expansion.u_temperature, expansion.u_coefficient),
    )
    found: Floats = by_row.dot(common_rows(inputs)).dot(sizes)
    return found


def common_rows(inputs: Inputs) -> Floats:
    """(rows, 2): how the observed values change by a millimetre on every offset, and when
    everything grows about the pivot."""
    observations, steering = inputs.stack.observations, inputs.prepared.steering
    place, shift = observations.position, np.zeros(3)
    if steering is not None:
        shift = steering.frame.T.dot(steering.origin)
        place = place.copy()
        place[observations.blocks[1].first :] += shift
    changes = np.zeros((observations.rows, 2))
    changes[: place.size, 1] = axes.whitened(observations, place)
    if observations.sides is not None:
        sides, rows = observations.sides, observations.side_points
        axis = inputs.prepared.pivot_frame.T.dot(inputs.pivot.direction)
        changes[rows, 0] = np.sign(sides.offset) * -sides.weight
        changes[rows, 1] = sides.place.dot(axis) * sides.weight
    if observations.head is not None:
        face, rows = observations.head, observations.head_points
        changes[rows, 0] = np.sign(face.offset) * face.weight
        changes[rows, 1] = (face.place + shift).dot(_normal(inputs, face)) * face.weight
    return changes


def _normal(inputs: Inputs, face: HeadFace) -> Floats:
    """(3,): of the head's face, in the frame of the steering block."""
    parameters = inputs.fitted.parameters
    _, first, second = parameters[face.column : face.column + 3].tolist()
    turned = np.array(rotation(*parameters[face.axis : face.axis + 2].tolist()))
    return np.asarray(turned.dot((-first, -second, 1.0)))


def estimated(inputs: Inputs, further: Sequence[int], rest: int) -> Floats:
    """(inputs,): 1 for each input whose size is an estimate, in the order of the columns.

    All points when the noise check made them grow; else those whose u replicates replaced.
    further: places of points whose three columns each follow the head's rows; rest: how many
    columns follow.
    """
    prepared, stack = inputs.prepared, inputs.stack
    replaced = prepared.uncertainty.replaced
    if inputs.noisier or replaced is None:
        replaced = np.ones(len(prepared.xyz), dtype=bool)
    sides = [i for places in stack.side_places.values() for i in places]
    return np.concatenate(
        (
            np.repeat(replaced[stack.places], 3),
            np.full(len(stack.observations.spacings), inputs.noisier),
            replaced[sides],
            np.zeros(len(stack.side_places)),
            replaced[stack.head_places],
            np.zeros(2 if stack.head_places else 0),
            np.repeat(replaced[list(further)], 3) if further else (),
            np.zeros(rest),
        )
    )
