"""The places of the faces in every trial, given its axes: a face never moves an axis."""

from typing import NamedTuple

import numpy as np

from app.chassis.associated import Line
from app.chassis.observations import HIERARCHY, Sides
from app.chassis.preparation import Prepared
from app.chassis.stacking import Stack
from app.chassis.survey import Floats
from app.geometry.dual import Vector


class SideFace(NamedTuple):
    """place: (m, 3), mm; offset: (m,) mm to the left; sign: (m,) of it; u: (m,) mm along the axis;
    share: (m,) of the mean; mean: (3,) mm; lean: u of its tangent."""

    place: Floats
    offset: Floats
    sign: Floats
    u: Floats
    share: Floats
    mean: Floats
    lean: float


class HeadFaces(NamedTuple):
    """place: (m, 3), mm; offset: (m,) mm upward; sign: (m,) of it; u: (m,) mm along the axis;
    squareness: rad, of each tilt."""

    place: Floats
    offset: Floats
    sign: Floats
    u: Floats
    squareness: float


def side_faces(prepared: Prepared, stack: Stack) -> dict[str, SideFace]:
    """By side, in the order of the rows of the estimate."""
    sides = stack.observations.sides
    if sides is None:
        return {}
    found = {}
    begin = 0
    for side, places in stack.side_places.items():
        own = slice(begin, begin + len(places))
        begin += len(places)
        found[side] = _side_face(prepared, sides, places, own)
    return found


def _side_face(prepared: Prepared, sides: Sides, places: list[int], own: slice) -> SideFace:
    u = HIERARCHY / sides.weight[own]
    weight = 1.0 / u**2
    share = weight / weight.sum()
    place = prepared.xyz.take(places, axis=0)
    return SideFace(
        place,
        sides.offset[own],
        np.sign(sides.offset[own]),
        u,
        share,
        share @ place,
        HIERARCHY / sides.of_tilt,
    )


def head_face(prepared: Prepared, stack: Stack) -> HeadFaces | None:
    """Where it was measured."""
    face = stack.observations.head
    if face is None:
        return None
    return HeadFaces(
        prepared.xyz.take(stack.head_places, axis=0),
        face.offset,
        np.sign(face.offset),
        HIERARCHY / face.weight,
        HIERARCHY / face.of_tilt,
    )


def side_place(
    face: SideFace, pivot: Line, errors: Floats, lean: Floats, offset: Floats, growth: Floats
) -> Floats:
    """(k,): place along the pivot axis, mm.

    errors: (m, k) of the points, lean: (k,) of the face, both over their u; offset: (k,) mm, error
    of every offset; growth: (k,) share by which all positions are too large.
    """
    direction = pivot.direction.value
    seen = (face.share @ face.place) @ direction
    seen += (face.share * face.u) @ errors
    seen *= growth + 1.0
    seen -= face.share @ face.offset
    seen -= float(face.share @ face.sign) * offset
    arm = face.mean[:, np.newaxis] - pivot.point.value
    along = (arm * direction).sum(axis=0)
    lever = np.sqrt(np.maximum((arm * arm).sum(axis=0) - along * along, 0.0))
    return np.asarray(seen - face.lean * lean * lever)


def head_point(
    face: HeadFaces,
    steering: Line,
    across: tuple[Vector, Vector],
    errors: Floats,
    tilts: Floats,
    offset: Floats,
    growth: Floats,
) -> Vector:
    """H, mm: where the steering axis meets the face.

    across: two directions square to the axis, about which the tilts (2, k) count; the rest as in
    `side_place`. With the tilts observed as they are drawn, this is linear least squares.
    """
    origin = (steering.point.value * steering.direction.value).sum(axis=0)
    axis = steering.direction.value
    grown = growth + 1.0
    height = face.place @ axis
    height += errors * face.u[:, np.newaxis]
    height *= grown
    height -= origin
    height += face.offset[:, np.newaxis] + face.sign[:, np.newaxis] * offset
    levers = [
        (face.place @ one.value) * grown - (steering.point.value * one.value).sum(axis=0)
        for one in across
    ]
    weight = 1.0 / face.u**2
    share = weight / weight.sum()
    middle, (first, second) = share @ height, [share @ lever for lever in levers]
    tilt1, tilt2 = tilts * face.squareness
    if len(face.u) > 1:
        tilt1, tilt2 = _tilts(
            weight,
            (levers[0] - first, levers[1] - second),
            height - middle,
            (tilt1, tilt2),
            face.squareness,
        )
    along = middle - tilt1 * first - tilt2 * second
    return Vector(steering.point.value + axis * along)


def _tilts(
    weight: Floats,
    levers: tuple[Floats, Floats],
    height: Floats,
    drawn: tuple[Floats, Floats],
    squareness: float,
) -> tuple[Floats, Floats]:
    """(k,) each: what points and squareness together say of the tilts."""
    one, other = levers
    own = 1.0 / squareness**2
    xx, yy, xy = weight @ (one * one) + own, weight @ (other * other) + own, weight @ (one * other)
    x, y = weight @ (one * height) + own * drawn[0], weight @ (other * height) + own * drawn[1]
    size = xx * yy - xy * xy
    return (x * yy - y * xy) / size, (y * xx - x * xy) / size
