"""Derivatives of the head's quantities by every input, each input scaled to unit variance.

What reaches a quantity by way of the axes is carried through the estimate's own derivatives; the
face's height and the sides' places are carried by their weights.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from app.chassis import axes, head
from app.chassis.contributions import Contributions, contributions
from app.chassis.datum import Side
from app.chassis.estimate import Axis
from app.chassis.head_face import Face, Plane
from app.chassis.stacking import Stack
from app.chassis.survey import Floats
from app.metrology.estimation import Estimate
from app.metrology.thermal import Expansion


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
    """gradient: (k, 15), columns as in `head`; the face's gradient may be `head.HEIGHT` only."""
    stacked = _by_rows(inputs, gradient)
    grown = stacked * inputs.birge_ratio
    runs = []
    for feature, _ in inputs.stack.sources:
        rows = inputs.stack.rows(feature)
        runs.append((feature, grown[:, 3 * rows.start : 3 * rows.stop]))
    spaced = 3 * len(inputs.stack.places)
    if grown.shape[1] > spaced:
        runs.append(("target_spacing", grown[:, spaced:]))
    runs += _by_sides(inputs, gradient)
    runs += _by_face(inputs, gradient)
    return contributions(runs + _in_common(inputs, gradient, stacked))


def _by_rows(inputs: Inputs, gradient: Floats) -> Floats:
    """(k, rows): by each whitened row of the stack."""
    by_vector = gradient[:, :12].copy()
    for name, column in (("left", head.LEFT), ("right", head.RIGHT)):
        if name in inputs.sides:
            by_vector[:, :3] += np.outer(gradient[:, column], inputs.sides[name].point)
    if inputs.plane is not None:
        height = gradient[:, head.HEIGHT]
        by_vector[:, 6:9] += np.outer(height, inputs.plane.by_direction[0])
        by_vector[:, 9:12] += np.outer(height, inputs.plane.by_point[0])
    by_unknown = by_vector[:, :6] @ inputs.pivot.slopes
    if inputs.steering is not None:
        by_unknown = np.concatenate((by_unknown, by_vector[:, 6:] @ inputs.steering.slopes), axis=1)
    inverse = inputs.fitted.inverse[: by_unknown.shape[1]]
    return -(by_unknown @ inverse) @ inputs.fitted.basis.T


def _by_sides(inputs: Inputs, gradient: Floats) -> list[tuple[str, Floats]]:
    runs = []
    for name, column, sign in (("left", head.LEFT, 1.0), ("right", head.RIGHT, -1.0)):
        side = inputs.sides.get(name)
        if side is None:
            continue
        by_place = sign * gradient[:, column]
        runs.append(("pivot_face", np.outer(by_place, side.weights * side.u * inputs.birge_ratio)))
        tilted = side.lever * math.tan(inputs.squareness)
        runs.append(("face_squareness", (by_place * tilted)[:, np.newaxis]))
    return runs


def _by_face(inputs: Inputs, gradient: Floats) -> list[tuple[str, Floats]]:
    if inputs.face is None or inputs.plane is None:
        return []
    height = gradient[:, head.HEIGHT]
    return [
        ("head_face", np.outer(height, inputs.plane.gain[0] * np.sqrt(inputs.face.variance))),
        ("face_squareness", np.outer(height, inputs.plane.of_squareness[0] * inputs.squareness)),
    ]


def _in_common(inputs: Inputs, gradient: Floats, stacked: Floats) -> list[tuple[str, Floats]]:
    """Causes that move all points together: offset, scale, temperature."""
    lifted = np.zeros(len(gradient))
    grown = stacked[:, : 3 * len(inputs.stack.places)] @ _outward(inputs)
    for name, column, sign in (("left", head.LEFT, 1.0), ("right", head.RIGHT, -1.0)):
        side = inputs.sides.get(name)
        if side is not None:
            lifted -= sign * side.offset_share * gradient[:, column]
            grown += gradient[:, column] * float(side.point @ inputs.pivot.direction)
    if inputs.face is not None and inputs.plane is not None and inputs.steering is not None:
        height, gain = gradient[:, head.HEIGHT], inputs.plane.gain[0]
        lifted += height * float(gain @ inputs.face.lifted)
        places = inputs.face.arm + inputs.steering.point
        grown += height * float(gain @ (places @ inputs.plane.normal))
    expansion = inputs.expansion
    by_warmth = np.array((expansion.u_temperature, expansion.u_coefficient))
    return [
        ("instrument_offset", (lifted * inputs.offset_u)[:, np.newaxis]),
        ("instrument_scale", (grown * inputs.scale_u)[:, np.newaxis]),
        ("temperature", np.outer(grown, by_warmth)),
    ]


def _outward(inputs: Inputs) -> Floats:
    """(3 n,): how the whitened rows change when everything grows about the pivot."""
    observations = inputs.stack.observations
    place = observations.position.copy()
    for block in observations.blocks[1:]:
        place[block.first : block.last] += inputs.steering_shift
    return axes.whiten(observations.whitening, place).ravel()
