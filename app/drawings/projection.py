"""The three directions of view, and boxes round what they show.

On the drawing x runs to the right and y down. Seen from the right side, forward is to the right;
seen from above, left is up; seen from behind, left is left. So side and behind share heights,
side and above share lengths.
"""

import math
from dataclasses import dataclass
from functools import lru_cache

from app.drawings.places import Place, Shape, cross
from app.drawings.svg import Point

VIEWS = ("side", "above", "behind")

AXES: dict[str, tuple[tuple[int, float], tuple[int, float]]] = {
    "side": ((0, 1.0), (2, -1.0)),
    "above": ((0, 1.0), (1, -1.0)),
    "behind": ((1, -1.0), (2, -1.0)),
}
"""For each view: which machine axis runs across and which down, with its sign."""


def project(view: str, place: Place) -> Point:
    """Where a place in machine axes stands in a view, mm."""
    (across, a), (down, d) = AXES[view]
    return (a * place[across], d * place[down])


def corners(shape: Shape) -> tuple[Place, ...]:
    """The points to draw through: those of the shape, or 48 on the rim of a circle."""
    if shape.kind != "circle" or shape.radius is None or len(shape.points) != 2:
        return shape.points
    centre, normal = shape.points
    first, second = square_to(normal)
    turns = [2 * math.pi * step / 48 for step in range(48)]
    return tuple(on_rim(centre, first, second, shape.radius, turn) for turn in turns)


def on_rim(centre: Place, first: Place, second: Place, radius: float, turn: float) -> Place:
    """One point of a circle, `turn` radians from `first` towards `second`."""
    c, s = radius * math.cos(turn), radius * math.sin(turn)
    x, y, z = (m + c * f + s * g for m, f, g in zip(centre, first, second, strict=True))
    return (x, y, z)


def square_to(normal: Place) -> tuple[Place, Place]:
    """Two unit vectors square to the normal and to each other; the normal is not vertical."""
    nx, ny, _ = normal
    length = math.hypot(nx, ny) or 1.0
    first = (-ny / length, nx / length, 0.0)
    second = cross(normal, first)
    return first, second


@dataclass(frozen=True, slots=True)
class Box:
    left: float
    top: float
    right: float
    bottom: float

    @property
    def width(self) -> float:
        return self.right - self.left

    @property
    def height(self) -> float:
        return self.bottom - self.top

    def grown(self, left: float, top: float, right: float, bottom: float) -> "Box":
        """The box with a margin on each side."""
        return Box(self.left - left, self.top - top, self.right + right, self.bottom + bottom)


@lru_cache(maxsize=16)
def box_round(view: str, shapes: tuple[Shape, ...]) -> Box:
    """The box round all shapes in a view; a box about the origin when there is nothing.

    Kept for the last few drawings: each asks for its boxes twenty times.
    """
    seen = [project(view, place) for shape in shapes for place in corners(shape)] or [(0.0, 0.0)]
    xs, ys = [x for x, _ in seen], [y for _, y in seen]
    return Box(min(xs), min(ys), max(xs), max(ys))
