"""The faces of a survey as planes: beside the pivot, and under the head."""

import numpy as np

from app.chassis.estimate import Axis
from app.chassis.features import SIDES
from app.chassis.frames import frame_along, scaled
from app.chassis.head_face import Face, face
from app.chassis.preparation import Prepared


def pivot_faces(prepared: Prepared, pivot: Axis) -> list[tuple[Face, int]]:
    """Each face beside the pivot that has several points, and how many of them came first."""
    points = prepared.points
    found = []
    for name, sign in zip(SIDES, (1.0, -1.0), strict=True):
        firsts = points.labelled(points.first.get("pivot_face", []), name)
        places = firsts + points.labelled(points.returned.get("pivot_face", []), name)
        if firsts and len(places) > 1:
            inward = scaled(pivot.direction, -sign)
            plane = face(
                prepared.xyz[places],
                prepared.offset[places],
                prepared.uncertainty.along(places, np.array(inward)),
                np.array(pivot.point),
                frame_along(inward),
            )
            found.append((plane, len(firsts)))
    return found


def head_face(prepared: Prepared, places: list[int], steering: Axis) -> Face:
    """The head's lower face at the given points."""
    direction = np.array(steering.direction)
    return face(
        prepared.xyz[places],
        prepared.offset[places],
        prepared.uncertainty.along(places, direction),
        np.array(steering.point),
        frame_along(steering.direction),
    )
