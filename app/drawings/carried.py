"""What has no reference of its own hangs on the part that carries it, wherever that is drawn.

Fork and front wheel follow the head, rear axle and rear wheel the end of the swing arm: moved and
turned as one with it, so that among themselves they stay as they were measured.
"""

from collections.abc import Callable, Mapping

from app.drawings.places import Place, Shape, cross, dot, minus, plus, unit

CARRIER = {
    "fork_left": "steering_axis",
    "fork_right": "steering_axis",
    "front_wheel": "steering_axis",
    "rear_axle": "arm",
    "rear_wheel": "arm",
}
HELD_AT = {"steering_axis": 0, "arm": 1}
"""Which point of the carrier its load hangs on: the head's lower end, the arm's rear end."""


def carried(shape: Shape, measured: Mapping[str, Shape], drawn: Mapping[str, Shape]) -> Shape:
    """The shape as its carrier takes it along; as it is without one that is exaggerated.

    measured: all shapes as measured, by name; drawn: those with deviations exaggerated.
    """
    carrier = CARRIER.get(shape.name, "")
    if carrier not in drawn:
        return shape
    held = HELD_AT[carrier]
    before, after = measured[carrier].points, drawn[carrier].points
    turned = turning(arrow(before), arrow(after))

    def taken(place: Place) -> Place:
        return plus(after[held], turned(minus(place, before[held])))

    if shape.kind == "circle":
        centre, normal = shape.points
        return Shape(shape.name, shape.kind, (taken(centre), turned(normal)), shape.radius)
    return Shape(shape.name, shape.kind, tuple(taken(one) for one in shape.points), shape.radius)


def arrow(points: tuple[Place, ...]) -> Place:
    """The direction of a line."""
    return unit(minus(points[-1], points[0]))


def turning(one: Place, other: Place) -> Callable[[Place], Place]:
    """The shortest turn that takes one direction into another not opposite to it.

    Rodrigues' formula; with c = one · other and w = one × other it is
    v cos + w × v + w (w · v) / (1 + c).
    """
    c, w = dot(one, other), cross(one, other)

    def turned(v: Place) -> Place:
        across, along = cross(w, v), dot(w, v) / max(1.0 + c, 1e-9)
        x, y, z = (c * a + b + along * d for a, b, d in zip(v, across, w, strict=True))
        return (x, y, z)

    return turned
