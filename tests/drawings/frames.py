"""An invented frame as the engine would outline it: moved head, lean, turned axis."""

import math
from typing import Literal

from app.schemas.result import OutlineElementOut, OutlineOut

Place = tuple[float, float, float]


def element(
    name: str, kind: Literal["segment", "point", "circle"], *points: Place
) -> OutlineElementOut:
    """One element of an outline."""
    return {
        "name": name,
        "kind": kind,
        "points": [list(point) for point in points],
        "radius": None,
    }


def frame(head: Place = (560.0, 0.0, 330.0), castor_deg: float = 24.0) -> list[OutlineElementOut]:
    """A bare frame 260 mm wide at the pivot, with a head 180 mm long."""
    lean = math.radians(castor_deg)
    top = (head[0] - 180.0 * math.sin(lean), head[1], head[2] + 180.0 * math.cos(lean))
    return [
        element("pivot_axis", "segment", (0.0, -130.0, 0.0), (0.0, 130.0, 0.0)),
        element("face_left", "point", (0.0, 130.0, 0.0)),
        element("face_right", "point", (0.0, -130.0, 0.0)),
        element("steering_axis", "segment", head, top),
        element("head", "point", head),
    ]


def outline(
    back: float = 0.0, left: float = 0.0, up: float = 0.0, *, levelled: bool = True
) -> OutlineOut:
    """The frame with its head moved, in mm, and the reference where it belongs."""
    moved = (560.0 - back, left, 330.0 + up)
    return {"measured": frame(moved), "reference": frame(), "levelled": levelled}
