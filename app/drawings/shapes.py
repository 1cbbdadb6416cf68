"""The strokes of one view: axes, faces, points and circles of each kind of outline.

What all strokes of a kind have in common stands once, at the group round them; an element says
only in what it differs.
"""

import math
from typing import NamedTuple

from app.drawings import svg
from app.drawings.places import Shape
from app.drawings.projection import corners, project
from app.drawings.scene import Scene
from app.drawings.svg import Attribute, Point

ACROSS = ("pair.", "axis.", "rear_axle")
"""Names of what runs across the machine."""
EDGE_ON = 0.01
"""A circle that is narrower than this part of its length is drawn as a line."""
Stroke = dict[str, Attribute]


def pen(kind: str, scene: Scene) -> Stroke:
    """The stroke of `reference`, `before`, `during` or `measured`."""
    letter, inks = scene.letter, scene.inks
    if kind == "reference":
        return {
            "stroke": inks.reference, "stroke_width": 0.1 * letter,
            "stroke_dasharray": dashes(letter, 0.55, 0.35), "class_": "reference",
        }  # fmt: skip
    if kind == "before":
        return {
            "stroke": inks.muted, "stroke_width": 0.17 * letter,
            "stroke_dasharray": dashes(letter, 0.0, 0.36), "stroke_linecap": "round",
            "class_": "before",
        }  # fmt: skip
    if kind == "during":
        return {
            "stroke": inks.muted, "stroke_width": 0.12 * letter,
            "stroke_dasharray": dashes(letter, 1.0, 0.3, 0.0, 0.3), "stroke_linecap": "round",
            "class_": "during",
        }  # fmt: skip
    return {"stroke": inks.ink, "stroke_width": 0.2 * letter, "class_": "measured"}


def dashes(letter: float, *lengths: float) -> str:
    """Strokes and gaps, in letters."""
    return " ".join(svg.number(length * letter) for length in lengths)


def draw_shapes(view: str, scene: Scene) -> str:
    """Reference first, what was measured earlier over it, measured on top."""
    layers = (
        ("reference", scene.reference),
        ("before", scene.before),
        ("during", scene.during),
        ("measured", scene.measured),
    )
    return "".join(draw_layer(view, shapes, pen(kind, scene), scene) for kind, shapes in layers)


def draw_layer(view: str, shapes: tuple[Shape, ...], stroke: Stroke, scene: Scene) -> str:
    """All shapes that are drawn with one pen; nothing where there are none."""
    drawn = [draw_shape(view, shape, scene.letter) for shape in shapes]
    full, thin, marks = ("".join(parts) for parts in zip(*drawn, strict=True)) if drawn else NONE
    content = full + grouped(thin, thinner(stroke)) + grouped(marks, mark(stroke))
    return grouped(content, {"fill": "none", **stroke})


def grouped(content: str, stroke: Stroke) -> str:
    """The content with what its strokes have in common; nothing where there is none."""
    return svg.element("g", content, **stroke) if content else ""


class Drawn(NamedTuple):
    """What is drawn of a shape: with the full stroke, with half of it, and small marks."""

    full: str = ""
    thin: str = ""
    marks: str = ""


NONE = Drawn()


def draw_shape(view: str, shape: Shape, letter: float) -> Drawn:
    """One element in the manner of its name and kind."""
    if shape.kind == "circle":
        return Drawn(draw_circle(view, shape))
    seen = [project(view, place) for place in corners(shape)]
    if shape.name.startswith("control."):
        return Drawn(marks=draw_cross(seen[0], letter))
    if shape.kind == "point":
        return draw_point(view, shape.name, seen[0], letter)
    if shape.name == "link" or shape.name.startswith("fork_"):
        return Drawn(thin=svg.line(*seen))
    if shape.name == "pivot_axis" and view == "side":
        return draw_end_on(seen, letter)
    if shape.name.startswith(ACROSS):
        return draw_across(view, seen, letter)
    if shape.name == "steering_axis":
        return Drawn(svg.line(*seen) + draw_ends(seen[0], seen[-1], letter))
    return Drawn(svg.polyline(seen))


def draw_circle(view: str, shape: Shape) -> str:
    """A circle in space as the ellipse that it looks like; from its edge a line."""
    if shape.radius is None or len(shape.points) != 2:
        return svg.polygon([project(view, place) for place in corners(shape)])
    (x, y), (nx, ny) = project(view, shape.points[0]), project(view, shape.points[1])
    tilt, radius = min(1.0, math.hypot(nx, ny)), shape.radius
    narrow = radius * math.sqrt(1.0 - tilt * tilt)
    if tilt == 0.0:
        return svg.circle((x, y), radius)
    along = (-ny / tilt * radius, nx / tilt * radius)
    if narrow < EDGE_ON * radius:
        return svg.line((x - along[0], y - along[1]), (x + along[0], y + along[1]))
    turn = math.degrees(math.atan2(along[1], along[0]))
    return svg.ellipse((x, y), (radius, narrow), turn)


def draw_cross(at: Point, letter: float) -> str:
    """A control point: an upright cross."""
    (x, y), arm = at, 0.4 * letter
    return svg.strokes([((x - arm, y), (x + arm, y)), ((x, y - arm), (x, y + arm))])


def draw_across(view: str, seen: list[Point], letter: float) -> Drawn:
    """A pair or an axis across the machine: a line with a ring at each end; of the side view,
    where it is looked at from its end, the rings alone."""
    rings = "".join(svg.circle(at, 0.25 * letter) for at in seen)
    return Drawn(thin="" if view == "side" else svg.line(*seen), marks=rings)


def mark(stroke: Stroke) -> Stroke:
    """What differs at small marks: half as wide, and unbroken, for they would lose their shape."""
    return {**thinner(stroke), **unbroken(stroke)}


def unbroken(stroke: Stroke) -> Stroke:
    """What differs where a stroke must not be dashed."""
    return {"stroke_dasharray": "none"} if "stroke_dasharray" in stroke else {}


def thinner(stroke: Stroke) -> Stroke:
    """What differs where a stroke is half as wide."""
    width = stroke["stroke_width"]
    return {"stroke_width": width / 2 if isinstance(width, float) else width}


def draw_end_on(seen: list[Point], letter: float) -> Drawn:
    """An axis looked at from its end: a ring with a cross."""
    x = sum(point[0] for point in seen) / len(seen)
    y = sum(point[1] for point in seen) / len(seen)
    arm = 1.0 * letter
    cross = [((x - arm, y), (x + arm, y)), ((x, y - arm), (x, y + arm))]
    return Drawn(svg.circle((x, y), 0.65 * letter), svg.strokes(cross))


def draw_ends(a: Point, b: Point, letter: float) -> str:
    """Short strokes square to a line at its ends: the head's lower and upper end."""
    dx, dy = b[0] - a[0], b[1] - a[1]
    length = (dx * dx + dy * dy) ** 0.5
    if length < letter:
        return ""
    across = (-dy / length * 0.6 * letter, dx / length * 0.6 * letter)
    return svg.strokes(
        [((x - across[0], y - across[1]), (x + across[0], y + across[1])) for x, y in (a, b)]
    )


def draw_point(view: str, name: str, at: Point, letter: float) -> Drawn:
    """A face beside the pivot as a short stroke along it; any other point as a small ring."""
    x, y = at
    if name in ("face_left", "face_right"):
        if view == "side":
            return NONE
        if view == "behind":
            return Drawn(svg.line((x, y - 1.1 * letter), (x, y + 1.1 * letter)))
        return Drawn(svg.line((x - 1.1 * letter, y), (x + 1.1 * letter, y)))
    return Drawn(marks=svg.circle(at, 0.25 * letter))
