"""What the drawings need of everything beyond the head: measured, and as the reference has it."""

from collections.abc import Iterator

from app.chassis.associated import Associated, Edge, Line
from app.chassis.formulas.machine_axes import MachineAxes, datum
from app.chassis.formulas.swing_arm import axle_middle
from app.chassis.frames import Vector, along, mean, minus, unit, vector
from app.chassis.frames import dot as product
from app.chassis.further.characteristics import Beyond
from app.chassis.result import OutlineElement
from app.chassis.survey import Reference

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
        *_arm(view, whole),
        *_points(view, whole),
        *_lines(view, whole),
        *_wheels(view, whole),
    )


def nominal(beyond: Beyond, reference: Reference) -> tuple[OutlineElement, ...]:
    """The control points, where the reference has them."""
    seen = beyond.joined.associated.points.get("control", {})
    return tuple(
        OutlineElement(f"control.{name}", "point", (place,))
        for name, place in reference.control_points.items()
        if name in seen
    )


class _View:
    """Places and directions as plain numbers in machine axes."""

    def __init__(self, axes: MachineAxes) -> None:
        assert axes.origin is not None
        self.origin = vector(axes.origin.value)
        self.axes = [vector(axis.value) for axis in (axes.forward, axes.left, axes.up)]

    def place(self, point: Vector) -> Vector:
        return self.direction(minus(point, self.origin))

    def direction(self, arrow: Vector) -> Vector:
        forward, left, up = self.axes
        return (product(arrow, forward), product(arrow, left), product(arrow, up))

    def segment(self, name: str, line: Line, half: float, middle: Vector) -> OutlineElement:
        """The piece of a line about the foot of a place on it."""
        point, direction = vector(line.point.value), vector(line.direction.value)
        foot = along(point, product(minus(middle, point), direction), direction)
        ends = (along(foot, half, direction), along(foot, -half, direction))
        return OutlineElement(name, "segment", tuple(self.place(end) for end in ends))


def _arm(view: _View, whole: Associated) -> Iterator[OutlineElement]:
    middle = axle_middle(whole, datum(whole))
    if middle is None or whole.rear_axle is None:
        return
    end = vector(middle.point.value)
    yield OutlineElement("arm", "segment", ((0.0, 0.0, 0.0), view.place(end)))
    yield view.segment("rear_axle", whole.rear_axle, AXLE_MM, end)


def _points(view: _View, whole: Associated) -> Iterator[OutlineElement]:
    pairs = whole.points.get("pair", {})
    for name in sorted({label.rpartition(".")[0] for label in pairs}):
        sides = [pairs.get(f"{name}.{side}") for side in ("left", "right")]
        ends = [view.place(vector(side.value)) for side in sides if side is not None]
        if len(ends) == 2:
            yield OutlineElement(f"pair.{name}", "segment", tuple(ends))
    for name, place in sorted(whole.points.get("control", {}).items()):
        yield OutlineElement(f"control.{name}", "point", (view.place(vector(place.value)),))


def _lines(view: _View, whole: Associated) -> Iterator[OutlineElement]:
    for name, line in sorted(whole.lines.items()):
        yield view.segment(f"axis.{name}", line, AXIS_MM, vector(line.point.value))
    for side, leg in sorted(whole.legs.items()):
        centre = vector(leg.centroid.value)
        yield view.segment(f"fork_{side}", leg.line, LEG_MM, centre)


def _wheels(view: _View, whole: Associated) -> Iterator[OutlineElement]:
    for wheel, edges in sorted(whole.rims.items()):
        if edges:
            yield _wheel(view, f"{wheel}_wheel", list(edges.values()))


def _wheel(view: _View, name: str, edges: list[Edge]) -> OutlineElement:
    centre = mean([vector(edge.centre.value) for edge in edges])
    normal = unit(mean([vector(edge.normal.value) for edge in edges]))
    radius = sum(float(edge.radius.value) for edge in edges) / len(edges)
    return OutlineElement(name, "circle", (view.place(centre), view.direction(normal)), radius)
