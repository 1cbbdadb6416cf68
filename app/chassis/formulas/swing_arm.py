"""The swing arm: the rear axle against the pivot axis, relative to the arm itself."""

from typing import NamedTuple

from app.chassis.associated import Associated
from app.chassis.formulas.machine_axes import Datum
from app.geometry.dual import Scalar, Vector, atan2, cross, dot, norm, unit


class AxleMiddle(NamedTuple):
    """M, the point of the axle's line midway between the arm's faces; across: its place along the
    pivot axis; sideways: how much of the line's direction lies along that axis; assumed: by the
    ends of the axle instead, taken to be symmetric."""

    point: Vector
    across: Scalar
    sideways: Scalar
    assumed: bool


def axle_middle(associated: Associated, datum: Datum) -> AxleMiddle | None:
    """None without the axle, or with neither faces nor ends of both sides."""
    line, faces, ends = associated.rear_axle, associated.axle_faces, associated.axle_ends
    if line is None:
        return None
    if "left" in faces and "right" in faces:
        across, assumed = (faces["left"] + faces["right"]) * 0.5, False
    elif "left" in ends and "right" in ends:
        across, assumed = dot(datum.left, ends["left"] + ends["right"]) * 0.5, True
    else:
        return None
    sideways = dot(datum.left, line.direction)
    step = (across - dot(datum.left, line.point)) / sideways
    return AxleMiddle(line.point + line.direction * step, across, sideways, assumed)


def characteristics(associated: Associated, middle: AxleMiddle, datum: Datum) -> dict[str, Scalar]:
    """Toe and twist do not change as the arm moves up and down."""
    assert associated.rear_axle is not None
    axle, arm = associated.rear_axle.direction, datum.in_side_view(middle.point)
    back = unit(arm)
    found = {
        "arm_length": norm(arm),
        "axle_toe": atan2(dot(axle, back), middle.sideways),
        "axle_twist": atan2(dot(axle, cross(datum.left, back)), middle.sideways),
    }
    if datum.middle is not None:
        found["axle_offset"] = middle.across - datum.middle
    return found
