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


class SeenFace(NamedTuple):
    """The head's face as the axis sees it in k trials. height: (m, k), mm along the axis from its
    point, offsets corrected; levers: (m, k) each, mm along two directions square to it; weight:
    (m,), mm⁻²."""

    height: Floats
    levers: tuple[Floats, Floats]
    weight: Floats

    @property
    def centred(self) -> tuple[Floats, tuple[Floats, Floats], "SeenFace"]:
        """Weighted means of height and levers, and the face about them."""
        share = self.weight / self.weight.sum()
        one, other = self.levers
        middle, first, second = share @ self.height, share @ one, share @ other
        levers = one - first, other - second
        return middle, (first, second), SeenFace(self.height - middle, levers, self.weight)

    def tilts(self, observed: tuple[Floats, Floats], weight: float) -> tuple[Floats, Floats]:
        """(k,) each, of the centred face: by its points, and observed with a weight, rad⁻²."""
        one, other = self.levers
        points = self.weight
        xx, yy = points @ (one * one) + weight, points @ (other * other) + weight
        xy = points @ (one * other)
        x = points @ (one * self.height) + weight * observed[0]
        y = points @ (other * self.height) + weight * observed[1]
        size = xx * yy - xy * xy
        return (x * yy - y * xy) / size, (y * xx - x * xy) / size


def seen_face(
    face: HeadFaces,
    steering: Line,
    across: tuple[Vector, Vector],
    errors: Floats,
    offset: Floats,
    growth: Floats,
) -> SeenFace:
    """across: two directions square to the axis; the rest as in `side_place`."""
    point, axis = steering.point.value, steering.direction.value
    grown = growth + 1.0
    height = face.place @ axis
    height += errors * face.u[:, np.newaxis]
    height *= grown
    height -= (point * axis).sum(axis=0)
    height += face.offset[:, np.newaxis] + face.sign[:, np.newaxis] * offset
    one, other = (
        (face.place @ way.value) * grown - (point * way.value).sum(axis=0) for way in across
    )
    return SeenFace(height, (one, other), 1.0 / face.u**2)


def head_point(seen: SeenFace, steering: Line, tilts: Floats, squareness: float) -> Vector:
    """H, mm: where the steering axis meets the face, whose tilts (2, k), rad, were observed with
    the uncertainty `squareness`. With the axis given, this is linear least squares."""
    middle, (first, second), centred = seen.centred
    tilt1, tilt2 = tilts
    if len(seen.weight) > 1:
        tilt1, tilt2 = centred.tilts((tilt1, tilt2), squareness**-2)
    along = middle - tilt1 * first - tilt2 * second
    return Vector(steering.point.value + steering.direction.value * along)


def squareness(seen: SeenFace) -> Floats:
    """(k,): tilt of the face against square to the axis, from its points alone, rad."""
    nothing = np.zeros(seen.height.shape[1])
    tilt1, tilt2 = seen.centred[2].tilts((nothing, nothing), 0.0)
    return np.asarray(np.arctan(np.hypot(tilt1, tilt2)))
