"""What the shape of the head's own parts shows: the face's squareness, the bore's run-out.

Both are sizes, never negative; their uncertainty is taken in the direction in which they lie.
"""

import math

import numpy as np

from app.chassis import head, head_face, surfaces
from app.chassis.derivatives import Inputs
from app.chassis.head import Quantity
from app.chassis.observations import HIERARCHY
from app.chassis.survey import Floats
from app.geometry.lines import fit_line

POINTS_FOR_SHAPE = 3


def face_squareness(inputs: Inputs) -> Quantity | None:
    """Tilt of the head's face against square to the steering axis, from its points alone, rad."""
    places = inputs.stack.head_places
    if inputs.steering is None or len(places) < POINTS_FOR_SHAPE:
        return None
    face = surfaces.head_face(inputs.prepared, places, inputs.steering)
    plane = head_face.own_plane(face)
    if plane is None:
        return None
    _, first, second = plane.value.tolist()
    slope = math.hypot(first, second)
    across = (first / slope, second / slope) if slope else (1.0, 0.0)
    by_point = across @ plane.gain[1:] / (1.0 + slope**2)
    by_row = np.zeros(len(inputs.fitted.residuals))
    by_row[-2 - len(places) : -2] = by_point * np.sqrt(face.variance) / HIERARCHY
    gradient = (*(0.0,) * 6, *head_face.by_axis(face, plane, by_point), *(0.0,) * 3)
    return Quantity(math.atan(slope), gradient, by_row)


def bore_runout(inputs: Inputs) -> Quantity | None:
    """Largest distance of a bore point from the straight line through all of them, mm."""
    rows = inputs.stack.rows("head_bore")
    # Points that all lie in one spot have no line to be off.
    if rows.stop - rows.start < POINTS_FOR_SHAPE or not inputs.prepared.bore_fixes:
        return None
    place = inputs.stack.observations.position[rows]
    weights = 1.0 / inputs.prepared.uncertainty.variance[inputs.stack.places[rows]]
    line = fit_line(place, weights)
    arm = place - line.point
    reach = arm @ line.direction
    beside = arm - np.multiply.outer(reach, line.direction)
    size = np.sqrt((beside * beside).sum(axis=1))
    worst = int(size.argmax())
    direction = beside[worst] / size[worst] if size[worst] else np.eye(3)[0]
    follows = weights / weights.sum() + reach[worst] * (weights * reach) / (weights @ reach**2)
    by_point = -follows
    by_point[worst] += 1.0
    by_row = np.zeros(len(inputs.fitted.residuals))
    whitening = inputs.stack.observations.whitening[rows]
    by_row[3 * rows.start : 3 * rows.stop] = _whitened(whitening, by_point, direction).ravel()
    return Quantity(float(size[worst]), (0.0,) * head.COLUMNS, by_row)


def _whitened(whitening: Floats, by_point: Floats, direction: Floats) -> Floats:
    """(m, 3): derivatives by whitened coordinates from those by coordinates."""
    slopes = np.multiply.outer(by_point, direction)
    if whitening.ndim == 2:
        return slopes / whitening
    back: Floats = (slopes[:, np.newaxis, :] @ np.linalg.inv(whitening))[:, 0, :]
    return back
