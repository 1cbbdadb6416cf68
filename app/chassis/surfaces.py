"""The faces of a survey as planes: beside the pivot, and under the head."""

from typing import NamedTuple

import numpy as np

from app.chassis.estimate import Axis
from app.chassis.features import SIDES
from app.chassis.frames import frame_along, scaled
from app.chassis.head_face import Face, face
from app.chassis.preparation import Prepared


class MeasuredFace(NamedTuple):
    """A face that has several points, of which the first `firsts` were not returned.

    side: of a pivot face; squareness: rad, u of its tilt.
    """

    feature: str
    side: str | None
    face: Face
    firsts: int
    squareness: float

    @property
    def first(self) -> Face:
        if self.firsts == len(self.face.height):
            return self.face
        return self.face.only(slice(self.firsts))


def several_points(prepared: Prepared, pivot: Axis, steering: Axis | None) -> list[MeasuredFace]:
    """The faces of which more can be told than their place."""
    points = prepared.points
    found = []
    for side, sign in zip(SIDES, (1.0, -1.0), strict=True):
        firsts = points.labelled(points.first.get("pivot_face", []), side)
        places = firsts + points.labelled(points.returned.get("pivot_face", []), side)
        if firsts and len(places) > 1:
            plane = pivot_face(prepared, places, pivot, -sign)
            measured = MeasuredFace("pivot_face", side, plane, len(firsts), prepared.squareness)
            found.append(measured)
    count = len(points.first.get("head_face", []))
    places = points.of("head_face")
    if steering is not None and count and len(places) > 1:
        plane = head_face(prepared, places, steering)
        found.append(MeasuredFace("head_face", None, plane, count, prepared.squareness))
    return found


def pivot_face(prepared: Prepared, places: list[int], pivot: Axis, inward: float) -> Face:
    """A face beside the pivot at the given points; inward: sign of that way along the axis."""
    direction = scaled(pivot.direction, inward)
    return face(
        prepared.xyz.take(places, axis=0),
        prepared.offset.take(places),
        prepared.uncertainty.along(places, np.array(direction)),
        np.array(pivot.point),
        frame_along(direction),
    )


def head_face(prepared: Prepared, places: list[int], steering: Axis) -> Face:
    """The head's lower face at the given points."""
    direction = np.array(steering.direction)
    return face(
        prepared.xyz.take(places, axis=0),
        prepared.offset.take(places),
        prepared.uncertainty.along(places, direction),
        np.array(steering.point),
        frame_along(steering.direction),
    )
