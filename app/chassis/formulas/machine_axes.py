"""Machine axes: X forward, Y to the left, Z up, about the pivot axis."""

from collections.abc import Sequence
from functools import cached_property
from typing import NamedTuple

from app.chassis.associated import Associated, Line
from app.geometry.dual import Scalar, Vector, cross, dot, square_to, unit
from app.geometry.dual_sums import Scalars, products


class Datum:
    """left: direction of the pivot axis; point: on it; middle: place of O along it, mm, None where
    not both faces were measured."""

    def __init__(self, left: Vector, point: Vector, middle: Scalar | None) -> None:
        self.left, self.point, self.middle = left, point, middle

    @cached_property
    def origin(self) -> Vector | None:
        """O, on the pivot axis midway between the faces; None where these are not known."""
        if self.middle is None:
            return None
        return self.point + self.left * (self.middle - dot(self.left, self.point))

    def in_side_view(self, point: Vector) -> Vector:
        """From the pivot axis to a point, square to that axis."""
        return square_to(point - self.point, self.left)


class MachineAxes(NamedTuple):
    """Unit vectors forward and up; the third one, and O, are those of the datum."""

    forward: Vector
    up: Vector
    datum: Datum

    @property
    def left(self) -> Vector:
        return self.datum.left

    @property
    def origin(self) -> Vector | None:
        """O, where both faces were measured."""
        return self.datum.origin

    def place(self, point: Vector) -> tuple[Scalar, Scalar, Scalar]:
        """X, Y, Z of a point, mm. Raises ValueError without both faces."""
        if self.origin is None:
            raise ValueError("the middle of the machine is not known")
        return self.direction(point - self.origin)

    def direction(self, vector: Vector) -> tuple[Scalar, Scalar, Scalar]:
        """Components of a vector along X, Y, Z."""
        return dot(self.forward, vector), dot(self.left, vector), dot(self.up, vector)

    def directions(self, vectors: Sequence[Vector]) -> list[Scalars]:
        """The same of many, one or more."""
        return products((self.forward, self.left, self.up), vectors)


def datum(associated: Associated) -> Datum:
    """The pivot axis, and the middle between the frame's outer faces."""
    faces, middle = associated.faces, None
    if "left" in faces and "right" in faces:
        middle = (faces["left"] + faces["right"]) * 0.5
    return Datum(associated.pivot.direction, associated.pivot.point, middle)


def axes_along(forward: Vector, datum: Datum) -> MachineAxes:
    """The axes whose X is a unit vector square to the pivot axis."""
    return MachineAxes(forward, cross(forward, datum.left), datum)


def ahead(datum: Datum, head: Vector | None, axle_middle: Vector | None) -> Vector | None:
    """X before levelling: towards H, else away from the middle of the rear axle."""
    if head is not None:
        return unit(datum.in_side_view(head))
    if axle_middle is not None:
        return -unit(datum.in_side_view(axle_middle))
    return None


def point_at(line: Line, across: Scalar, left: Vector) -> Vector:
    """The point of a line whose place along the pivot axis is given."""
    step = (across - dot(left, line.point)) / dot(left, line.direction)
    return line.point + line.direction * step
