"""What the drawings need of everything beyond the head: measured, and as the reference has it."""

from collections.abc import Iterator

from app.chassis.associated import Associated, Edge, Line
from app.chassis.formulas.machine_axes import MachineAxes
from app.chassis.formulas.swing_arm import AxleMiddle
from app.chassis.frames import Vector, along, components, dot, mean, minus, unit, vector
from app.chassis.further.characteristics import Beyond
from app.chassis.result import OutlineElement
from app.chassis.survey import Floats, Reference

AXIS_MM = 80.0
LEG_MM = 150.0
AXLE_MM = 130.0
"""Half the drawn length of a further axis, of a fork leg, of the rear axle; for drawing only."""


def measured(beyond: Beyond) -> tuple[OutlineElement, ...]:
    """In machine axes; empty where these are not known."""
    axes, whole = beyond.computed.axes, beyond.joined.associated
    if axes is None or axes.origin is None:
        return ()
    view = _View(axes)
    return (
        *_arm(view, whole.rear_axle, beyond.computed.axle),
        *_points(view, whole),
        *_lines(view, whole),
        *_wheels(view, whole),
    )


def nominal(beyond: Beyond, reference: Reference) -> tuple[OutlineElement, ...]:
    """The control points, where the reference has them."""
    seen = beyond.joined.associated.points.get("control", {})
    return tuple(
        [
            OutlineElement(f"control.{name}", "point", (place,))
            for name, place in reference.control_points.items()
            if name in seen
        ]
    )


class _View:
    """Places and directions as plain numbers in machine axes."""

    def __init__(self, axes: MachineAxes) -> None:
        assert axes.origin is not None
        self.origin = vector(axes.origin.value)
        self.axes = (vector(axes.forward.value), vector(axes.left.value), vector(axes.up.value))

    def place(self, point: Floats) -> Vector:
        return components(minus(vector(point), self.origin), self.axes)

    def direction(self, arrow: Floats) -> Vector:
        return components(vector(arrow), self.axes)

    def segment(self, name: str, line: Line, half: float, middle: Vector) -> OutlineElement:
        """The piece of a line about the foot of a place on it; the place in machine axes."""
        point, direction = self.place(line.point.value), self.direction(line.direction.value)
        foot = along(point, dot(minus(middle, point), direction), direction)
        ends = (along(foot, half, direction), along(foot, -half, direction))
        return OutlineElement(name, "segment", ends)


def _arm(view: _View, axle: Line | None, middle: AxleMiddle | None) -> Iterator[OutlineElement]:
    if axle is None or middle is None:
        return
    end = view.place(middle.point.value)
    yield OutlineElement("arm", "segment", ((0.0, 0.0, 0.0), end))
    yield view.segment("rear_axle", axle, AXLE_MM, end)


def _points(view: _View, whole: Associated) -> Iterator[OutlineElement]:
    pairs = whole.points.get("pair", {})
    for name in sorted({label.rpartition(".")[0] for label in pairs}):
        left, right = pairs.get(f"{name}.left"), pairs.get(f"{name}.right")
        if left is not None and right is not None:
            ends = (view.place(left.value), view.place(right.value))
            yield OutlineElement(f"pair.{name}", "segment", ends)
    for name, place in sorted(whole.points.get("control", {}).items()):
        yield OutlineElement(f"control.{name}", "point", (view.place(place.value),))


def _lines(view: _View, whole: Associated) -> Iterator[OutlineElement]:
    for name, line in sorted(whole.lines.items()):
        yield view.segment(f"axis.{name}", line, AXIS_MM, view.place(line.point.value))
    for side, leg in sorted(whole.legs.items()):
        yield view.segment(f"fork_{side}", leg.line, LEG_MM, view.place(leg.centroid.value))


def _wheels(view: _View, whole: Associated) -> Iterator[OutlineElement]:
    for wheel, edges in sorted(whole.rims.items()):
        if edges:
            yield _wheel(view, f"{wheel}_wheel", list(edges.values()))


def _wheel(view: _View, name: str, edges: list[Edge]) -> OutlineElement:
    centre = mean([view.place(edge.centre.value) for edge in edges])
    normal = unit(mean([view.direction(edge.normal.value) for edge in edges]))
    radius = sum(float(edge.radius.value) for edge in edges) / len(edges)
    return OutlineElement(name, "circle", (centre, normal), radius)
