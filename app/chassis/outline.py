"""What the drawings need: the measured and the nominal datum and head, in machine axes, mm.

Without a levelling X points from the pivot to H, for the measured and the nominal outline alike.
"""

import math
from collections.abc import Mapping

from app.chassis import outline_beyond
from app.chassis.characteristics import Found
from app.chassis.frames import Vector, along, components, cross, dot, minus, scaled, unit
from app.chassis.levelling import nominal_invariants
from app.chassis.result import Outline, OutlineElement
from app.chassis.set_up import SetUp
from app.chassis.survey import Reference, Tolerance

HEAD_LENGTH_MM = 180.0
WIDTH_MM = 240.0
"""Drawn length of the pivot axis where the faces were not measured; for the drawing only."""


def outline(reference: Reference, checked: SetUp, found: Found) -> Outline:
    """What was measured and what the reference says, both in machine axes."""
    left, point, sides = checked.pivot.direction, checked.pivot.point, found.sides
    middle = sum(sides.values()) / 2.0 if len(sides) == 2 else dot(left, point)
    faces = {name: y - middle for name, y in sides.items()}
    length = reference.head_length_mm or HEAD_LENGTH_MM
    further = () if found.beyond is None else outline_beyond.measured(found.beyond)
    known = () if found.beyond is None else outline_beyond.nominal(found.beyond, reference)
    if checked.steering is None or found.distance is None:
        levelled = found.rule is not None
        drawn = (*_drawn(faces, None, None, length), *further)
        return Outline(drawn, known if levelled else (), levelled)
    up, through = checked.steering.direction, checked.steering.point
    machine = MachineAxes(
        left,
        along(point, middle - dot(left, point), left),
        ahead_of(left, up, found.distance, found.position or 0.0),
        _elevation(found),
    )
    head = None if found.height is None else machine.place(along(through, found.height, up))
    axis = (machine.place(through), machine.direction(up))
    levelled = found.rule is not None
    nominal = _nominal(reference, levelled)
    return Outline(
        (*_drawn(faces, head, axis, length), *further),
        (*nominal, *known) if levelled else nominal,
        levelled,
    )


def _elevation(found: Found) -> float:
    """How high H stands seen from the pivot axis, rad, once levelled."""
    if found.levelled is not None:
        return found.levelled.elevation
    computed = None if found.beyond is None else found.beyond.computed
    if computed is None or computed.levelled is None or "head_height" not in computed.values:
        return 0.0
    return math.atan2(
        float(computed.values["head_height"].value), float(computed.values["head_reach"].value)
    )


class MachineAxes:
    """X forward, Y to the left, Z up, from the pivot axis, the steering axis and the turn."""

    def __init__(self, left: Vector, origin: Vector, ahead: Vector, elevation: float) -> None:
        upward = cross(ahead, left)
        cosine, sine = math.cos(elevation), math.sin(elevation)
        forward = along(scaled(ahead, cosine), -sine, upward)
        up = along(scaled(ahead, sine), cosine, upward)
        self.origin, self.axes = origin, (forward, left, up)

    def place(self, point: Vector) -> Vector:
        return components(minus(point, self.origin), self.axes)

    def direction(self, vector: Vector) -> Vector:
        return components(vector, self.axes)


def ahead_of(left: Vector, up: Vector, distance: float, position: float) -> Vector:
    """Unit vector of the mid-plane from the pivot towards the head."""
    risen = unit(along(up, -dot(up, left), left))
    return unit(along(scaled(cross(left, risen), distance), position, risen))


def upward_of(ahead: Vector, left: Vector) -> Vector:
    """Unit vector square to both."""
    return cross(ahead, left)


def _drawn(
    faces: Mapping[str, float],
    head: Vector | None,
    axis: tuple[Vector, Vector] | None,
    length: float,
) -> tuple[OutlineElement, ...]:
    """faces: Y of the sides measured; head: H; axis: a point and the direction of the steering
    axis, all in machine axes."""
    left, right = faces.get("left"), faces.get("right")
    elements = [
        _segment(
            "pivot_axis",
            (0.0, WIDTH_MM / 2 if left is None else left, 0.0),
            (0.0, -WIDTH_MM / 2 if right is None else right, 0.0),
        )
    ]
    for name, y in (("face_left", left), ("face_right", right)):
        if y is not None:
            elements.append(OutlineElement(name, "point", ((0.0, y, 0.0),)))
    if axis is not None:
        lower = axis[0] if head is None else head
        elements.append(_segment("steering_axis", lower, along(lower, length, axis[1])))
    if head is not None:
        elements.append(OutlineElement("head", "point", (head,)))
    return tuple(elements)


def _nominal(reference: Reference, levelled: bool) -> tuple[OutlineElement, ...]:
    """The same by the reference; empty where its nominals do not suffice."""
    known = reference.characteristics
    distance, position = nominal_invariants(known)
    if distance is None or position is None:
        return ()
    elevation = 0.0
    if levelled:
        found = _nominal_elevation(known, distance, position)
        if found is None:
            return ()
        elevation = found
    radius, lean = math.hypot(distance, position), elevation - math.atan2(position, distance)
    twist = math.radians(_value(known, "head_twist") or 0.0)
    head = (
        radius * math.cos(elevation),
        _value(known, "head_offset") or 0.0,
        radius * math.sin(elevation),
    )
    flat = math.cos(twist)
    axis = (-flat * math.sin(lean), -math.sin(twist), flat * math.cos(lean))
    width = _value(known, "pivot_width")
    faces = {} if width is None else {"left": width / 2.0, "right": -width / 2.0}
    return _drawn(faces, head, (head, axis), reference.head_length_mm or HEAD_LENGTH_MM)


def _nominal_elevation(
    known: Mapping[str, Tolerance], distance: float, position: float
) -> float | None:
    angle, height = _value(known, "head_angle"), _value(known, "head_height")
    if angle is not None:
        return math.radians(angle) + math.atan2(position, distance)
    radius = math.hypot(distance, position)
    if height is not None and abs(height) <= radius:
        return math.asin(height / radius)
    return None


def _value(known: Mapping[str, Tolerance], key: str) -> float | None:
    return known[key].nominal if key in known else None


def _segment(name: str, one: Vector, other: Vector) -> OutlineElement:
    return OutlineElement(name, "segment", (one, other))
