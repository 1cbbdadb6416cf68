"""Machine axes: X forward, Y to the left, Z up, about the pivot axis."""

from functools import cached_property
from typing import NamedTuple

from app.chassis.associated import Associated
from app.geometry.dual import Scalar, Vector, cross, dot, square_to, unit


class Datum:
    """left: direction of the pivot axis; point: on it; middle: place of O along it, mm, None where
    not both faces were measured."""

    def __init__(self, left: Vector, point: Vector, middle: Scalar | None) -> None:
        self.left, self.point, self.middle = left, point, middle

    @cached_property
    def across(self) -> Scalar | None:
        """From the axis's point to O, mm to the left; None without the middle."""
        return None if self.middle is None else self.middle - dot(self.left, self.point)

    @cached_property
    def to_origin(self) -> Vector | None:
        """From the axis's point to O; None without the middle."""
        return None if self.across is None else self.left * self.across

    @cached_property
    def origin(self) -> Vector | None:
        """O, on the pivot axis midway between the faces; None where these are not known."""
        return None if self.to_origin is None else self.point + self.to_origin

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
    """X before levelling: towards H, else away from the middle of the rear axle.

    A view: nothing is measured along it, so that it has no slopes.
    """
    seen = axle_middle if head is None else head
    if seen is None:
        return None
    arm = Vector(seen.value) - Vector(datum.point.value)
    towards = unit(square_to(arm, Vector(datum.left.value)))
    return -towards if head is None else towards
