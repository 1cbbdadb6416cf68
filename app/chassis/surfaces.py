"""The faces of a survey: beside the pivot, and under the head; first measured and returned."""

import numpy as np

from app.chassis.datum import Side, side
from app.chassis.estimate import Axis
from app.chassis.features import SIDES
from app.chassis.frames import frame_along, scaled
from app.chassis.head_face import Face, face
from app.chassis.preparation import Prepared


def sides(prepared: Prepared, pivot: Axis, with_returns: bool) -> dict[str, Side]:
    """The left and the right face beside the pivot, as far as they were measured."""
    points = prepared.points
    first = points.first.get("pivot_face", [])
    again = points.returned.get("pivot_face", []) if with_returns else []
    found = {}
    for name, sign in zip(SIDES, (1.0, -1.0), strict=True):
        places = points.labelled(first, name)
        if places:
            places += points.labelled(again, name)
            outward = scaled(pivot.direction, sign)
            chosen = [prepared.face_point(i, outward) for i in places]
            found[name] = side(chosen, outward, pivot.point)
    return found


def head_face(prepared: Prepared, places: list[int], steering: Axis, factor: float = 1.0) -> Face:
    """The head's lower face at the given points; factor: on their variances."""
    direction = np.array(steering.direction)
    return face(
        prepared.xyz[places],
        prepared.offset[places],
        prepared.uncertainty.along(places, direction) * factor,
        np.array(steering.point),
        frame_along(steering.direction),
    )
