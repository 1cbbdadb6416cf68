"""Deviations drawn larger than they are, by one factor that the drawing states."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from app.drawings.carried import carried
from app.drawings.places import Place, Shape, minus, unit
from app.schemas.result import OutlineElementOut, OutlineOut

FACTORS = (200, 100, 50, 20, 10, 5, 2, 1)
LARGEST_UNASKED = 50
"""What is drawn larger than this only when somebody asks looks bent that is not."""
ROOM = 0.16
"""The largest deviation may be drawn as this part of the drawing's extent."""
ROOM_ASKED = 0.5
"""The same where somebody asks for more: beyond it the parts cannot be told apart."""


@dataclass(frozen=True, slots=True)
class Shift:
    """How far one point lies from its reference: the two places as drawn, and the true shift.

    end: which end of a line the point is (`left`, `upper`, `rear` …); empty where there is none.
    """

    name: str
    reference: Place
    drawn: Place
    shift_mm: Place
    end: str = ""


def places(element: OutlineElementOut) -> tuple[Place, ...]:
    """The element's points as triples."""
    return tuple((x, y, z) for x, y, z in element["points"])


def as_shape(element: OutlineElementOut) -> Shape:
    """The element as it is, nothing exaggerated."""
    return Shape(element["name"], element["kind"], places(element), element["radius"])


def partners(outline: OutlineOut) -> list[tuple[OutlineElementOut, OutlineElementOut]]:
    """Each measured element with the reference element of the same name and shape."""
    reference = {(one["name"], len(one["points"])): one for one in outline["reference"]}
    keyed = [(one, (one["name"], len(one["points"]))) for one in outline["measured"]]
    return [(one, reference[key]) for one, key in keyed if key in reference]


def shifts(outline: OutlineOut, factor: float) -> list[Shift]:
    """The shift of every measured point that has a reference, drawn `factor` times as long.

    Of a circle the centre; its normal is no place.
    """
    found = []
    for measured, reference in partners(outline):
        ends = places(reference)
        count = 1 if measured["kind"] == "circle" else len(ends)
        pairs = zip(places(measured)[:count], ends[:count], strict=True)
        for index, (m, r) in enumerate(pairs):
            end = end_of(ends, index) if count == 2 else ""
            found.append(Shift(measured["name"], r, moved(m, r, factor), minus(m, r), end))
    return found


ENDS = (("front", "rear"), ("left", "right"), ("upper", "lower"))


def end_of(points: Sequence[Place], index: int) -> str:
    """Which end of a line a point is, along the axis in which the line is longest."""
    along = minus(points[index], points[1 - index])
    axis = max(range(3), key=lambda one: abs(along[one]))
    return ENDS[axis][0] if along[axis] > 0 else ENDS[axis][1]


def moved(measured: Place, reference: Place, factor: float) -> Place:
    """The measured place with its distance from the reference multiplied by `factor`."""
    dx, dy, dz = minus(measured, reference)
    return (
        reference[0] + factor * dx,
        reference[1] + factor * dy,
        reference[2] + factor * dz,
    )


def exaggerated(outline: OutlineOut, factor: float) -> list[Shape]:
    """The measured elements; those without a reference stand where they were measured, or hang
    on what carries them."""
    by_name = {id(measured): reference for measured, reference in partners(outline)}
    own = {
        element["name"]: enlarged(element, by_name[id(element)], factor)
        for element in outline["measured"]
        if id(element) in by_name
    }
    as_measured = [as_shape(element) for element in outline["measured"]]
    named = {shape.name: shape for shape in as_measured}
    return [own.get(shape.name) or carried(shape, named, own) for shape in as_measured]


def enlarged(element: OutlineElementOut, reference: OutlineElementOut, factor: float) -> Shape:
    """The element with its deviations exaggerated; of a circle the normal is no place."""
    shape = as_shape(element)
    pairs = zip(shape.points, places(reference), strict=True)
    drawn = tuple(moved(m, r, factor) for m, r in pairs)
    if shape.kind == "circle":
        drawn = (drawn[0], unit(drawn[1]))
    return Shape(shape.name, shape.kind, drawn, shape.radius)


def extent(outline: OutlineOut) -> float:
    """The largest side of the box round all elements, mm; 1 when there is nothing."""
    elements = [*outline["measured"], *outline["reference"]]
    everything = [place for element in elements for place in reached(element)]
    if not everything:
        return 1.0
    along = [[place[axis] for place in everything] for axis in range(3)]
    return max(1.0, *(max(values) - min(values) for values in along))


def reached(element: OutlineElementOut) -> tuple[Place, ...]:
    """The places that set the size of the drawing; of a wheel the ends of its rim."""
    found = places(element)
    if element["kind"] != "circle" or element["radius"] is None:
        return found
    (x, y, z), radius = found[0], element["radius"]
    return ((x - radius, y, z - radius), (x + radius, y, z + radius))


def largest_shift(outlines: Sequence[OutlineOut]) -> float | None:
    """The largest shift of all, as a part of the drawing's extent; None without a reference."""
    lengths = [
        math.hypot(*shift.shift_mm) for outline in outlines for shift in shifts(outline, 1.0)
    ]
    return max(lengths) / max(map(extent, outlines)) if lengths else None


def fitting_factor(outlines: Sequence[OutlineOut]) -> int:
    """The largest factor by which the largest deviation still has room in the drawing."""
    largest = largest_shift(outlines)
    if largest is None:
        return 1
    fitting = (one for one in FACTORS if one <= LARGEST_UNASKED and one * largest <= ROOM)
    return next(fitting, 1)


def offered_factors(outlines: Sequence[OutlineOut]) -> tuple[int, ...]:
    """The factors that may be asked for, the smallest first; 1 alone without a reference."""
    largest = largest_shift(outlines)
    if largest is None:
        return (1,)
    return tuple(one for one in reversed(FACTORS) if one == 1 or one * largest <= ROOM_ASKED)


def closest_factor(asked: int, outlines: Sequence[OutlineOut]) -> int:
    """The offered factor that is nearest to what was asked for, the smaller of two."""
    return min(offered_factors(outlines), key=lambda one: (abs(one - asked), one))
