"""The strokes of one view: axes, faces, points and circles of each kind of outline."""

from app.drawings import svg
from app.drawings.places import Shape
from app.drawings.projection import corners, project
from app.drawings.scene import Scene
from app.drawings.svg import Attribute, Point

ACROSS = ("pair.", "axis.", "rear_axle")
"""Names of what runs across the machine."""


def pen(kind: str, scene: Scene) -> dict[str, Attribute]:
    """The stroke of `reference`, `before` or `measured`."""
    letter, inks = scene.letter, scene.inks
    if kind == "reference":
        dash = f"{svg.number(0.55 * letter)} {svg.number(0.35 * letter)}"
        return {
            "stroke": inks.reference, "stroke_width": 0.1 * letter,
            "stroke_dasharray": dash, "class_": "reference",
        }  # fmt: skip
    if kind == "before":
        dash = f"0 {svg.number(0.36 * letter)}"
        return {
            "stroke": inks.muted, "stroke_width": 0.17 * letter, "stroke_dasharray": dash,
            "stroke_linecap": "round", "class_": "before",
        }  # fmt: skip
    return {"stroke": inks.ink, "stroke_width": 0.2 * letter, "class_": "measured"}


def draw_shapes(view: str, scene: Scene) -> str:
    """Reference first, before over it, measured on top."""
    layers = (
        ("reference", scene.reference),
        ("before", scene.before),
        ("measured", scene.measured),
    )
    return "".join(
        draw_shape(view, shape, pen(kind, scene), scene.letter)
        for kind, shapes in layers
        for shape in shapes
    )


def draw_shape(view: str, shape: Shape, stroke: dict[str, Attribute], letter: float) -> str:
    """One element in the manner of its name and kind."""
    seen = [project(view, place) for place in corners(shape)]
    if shape.kind == "circle":
        return svg.polygon(seen, fill="none", **stroke)
    if shape.name.startswith("control."):
        return draw_cross(seen[0], thinner(stroke), letter)
    if shape.kind == "point":
        return draw_point(view, shape.name, seen[0], stroke, letter)
    if shape.name == "link":
        return svg.line(*seen, **thinner(stroke))
    if shape.name == "pivot_axis" and view == "side":
        return draw_end_on(seen, stroke, letter)
    if shape.name.startswith(ACROSS):
        return draw_across(view, seen, thinner(stroke), letter)
    if shape.name.startswith("fork_"):
        return svg.line(*seen, **thinner(stroke))
    if shape.name == "steering_axis":
        return svg.line(*seen, **stroke) + draw_ends(seen[0], seen[-1], stroke, letter)
    return svg.polyline(seen, fill="none", **stroke)


def draw_cross(at: Point, stroke: dict[str, Attribute], letter: float) -> str:
    """A control point: an upright cross."""
    (x, y), arm = at, 0.4 * letter
    plain = undashed(stroke)
    return svg.line((x - arm, y), (x + arm, y), **plain) + svg.line(
        (x, y - arm), (x, y + arm), **plain
    )


def draw_across(view: str, seen: list[Point], stroke: dict[str, Attribute], letter: float) -> str:
    """A pair or an axis across the machine: a line with a ring at each end; of the side view,
    where it is looked at from its end, the rings alone."""
    rings = "".join(svg.circle(at, 0.25 * letter, fill="none", **undashed(stroke)) for at in seen)
    return rings if view == "side" else svg.line(*seen, **stroke) + rings


def undashed(stroke: dict[str, Attribute]) -> dict[str, Attribute]:
    """The same stroke unbroken: small marks would lose their shape."""
    return {key: value for key, value in stroke.items() if key != "stroke_dasharray"}


def thinner(stroke: dict[str, Attribute]) -> dict[str, Attribute]:
    """The same stroke at half its width."""
    width = stroke["stroke_width"]
    return {**stroke, "stroke_width": width / 2 if isinstance(width, float) else width}


def draw_end_on(seen: list[Point], stroke: dict[str, Attribute], letter: float) -> str:
    """An axis looked at from its end: a ring with a cross."""
    x = sum(point[0] for point in seen) / len(seen)
    y = sum(point[1] for point in seen) / len(seen)
    arm = 1.0 * letter
    thin = thinner(stroke)
    return (
        svg.circle((x, y), 0.65 * letter, fill="none", **stroke)
        + svg.line((x - arm, y), (x + arm, y), **thin)
        + svg.line((x, y - arm), (x, y + arm), **thin)
    )


def draw_ends(a: Point, b: Point, stroke: dict[str, Attribute], letter: float) -> str:
    """Short strokes square to a line at its ends: the head's lower and upper end."""
    dx, dy = b[0] - a[0], b[1] - a[1]
    length = (dx * dx + dy * dy) ** 0.5
    if length < letter:
        return ""
    across = (-dy / length * 0.6 * letter, dx / length * 0.6 * letter)
    return "".join(
        svg.line((x - across[0], y - across[1]), (x + across[0], y + across[1]), **stroke)
        for x, y in (a, b)
    )


def draw_point(view: str, name: str, at: Point, stroke: dict[str, Attribute], letter: float) -> str:
    """A face beside the pivot as a short stroke along it; any other point as a small ring."""
    x, y = at
    if name in ("face_left", "face_right"):
        if view == "side":
            return ""
        if view == "behind":
            return svg.line((x, y - 1.1 * letter), (x, y + 1.1 * letter), **stroke)
        return svg.line((x - 1.1 * letter, y), (x + 1.1 * letter, y), **stroke)
    return svg.circle(at, 0.25 * letter, fill="none", **undashed(thinner(stroke)))
