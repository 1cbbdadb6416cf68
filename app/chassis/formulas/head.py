"""The head: steering axis and lower head face against the datum.

The same as the hand-differentiated `chassis.head`, which is faster for first order alone.
"""

from collections.abc import Collection

from app.chassis.associated import Associated, Line
from app.chassis.formulas.machine_axes import Datum, MachineAxes
from app.geometry.dual import Scalar, Vector, asin, atan2, cross, dot, square_to, unit


def twist(up: Vector, datum: Datum) -> Scalar:
    """Lack of squareness of the two axes, rad; positive: top to the right."""
    return asin(-dot(up, datum.left))


def offset(head: Vector, datum: Datum) -> Scalar | None:
    """H from the middle, mm to the left."""
    return None if datum.middle is None else dot(datum.left, head) - datum.middle


def axis_distance(steering: Line, datum: Datum) -> Scalar:
    """From the pivot axis ahead to the steering axis, both seen in the mid-plane, mm."""
    return dot(
        unit(cross(datum.left, steering.direction)),
        steering.point - datum.point,
    )


def face_position(up: Vector, head: Vector, datum: Datum) -> Scalar:
    """H along the steering axis as seen in the mid-plane, from the foot of O, upward, mm."""
    return dot(unit(square_to(up, datum.left)), head - datum.point)


def angle(up: Vector, axes: MachineAxes) -> Scalar:
    """Castor angle in the mid-plane, rad; positive: leaning back."""
    return atan2(-dot(up, axes.forward), dot(up, axes.up))


def characteristics(
    associated: Associated, datum: Datum, without: Collection[str] = ()
) -> dict[str, Scalar]:
    """Those that need no levelling."""
    steering, head, found = associated.steering, associated.head, {}
    if steering is not None:
        if "head_twist" not in without:
            found["head_twist"] = twist(steering.direction, datum)
        shift = None if head is None or "head_offset" in without else offset(head, datum)
        if shift is not None:
            found["head_offset"] = shift
        if "axis_distance" not in without:
            found["axis_distance"] = axis_distance(steering, datum)
        if head is not None and "face_position" not in without:
            found["face_position"] = face_position(steering.direction, head, datum)
    if datum.middle is not None and "pivot_width" not in without:
        found["pivot_width"] = associated.faces["left"] - associated.faces["right"]
    return found


def levelled(
    associated: Associated, datum: Datum, axes: MachineAxes, without: Collection[str] = ()
) -> dict[str, Scalar]:
    """Reach, height and castor angle of the levelled machine."""
    steering, head, found = associated.steering, associated.head, {}
    if head is not None:
        arm = head - datum.point
        if "head_reach" not in without:
            found["head_reach"] = dot(axes.forward, arm)
        if "head_height" not in without:
            found["head_height"] = dot(axes.up, arm)
    if steering is not None and "head_angle" not in without:
        found["head_angle"] = angle(steering.direction, axes)
    return found
