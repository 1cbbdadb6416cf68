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


def wheel(name: str, centre: Place, normal: Place, radius: float) -> OutlineElementOut:
    """A wheel's rim."""
    return {**element(name, "circle", centre, normal), "radius": radius}


def machine(head: Place = (560.0, 0.0, 330.0), by: float = 0.0) -> list[OutlineElementOut]:
    """Everything that can be drawn; `by` moves what is not the head, each part in its way, mm."""
    lean = math.sin(by / 200.0)
    return [
        *frame(head),
        element("arm", "segment", (0.0, 0.0, 0.0), (-540.0, 0.6 * by, -70.0)),
        element("rear_axle", "segment", (-540.0 - by, 120.0, -70.0), (-540.0, -120.0, -70.0)),
        element("pair.tail", "segment", (-420.0, 90.0 + by, 310.0), (-420.0, -90.0 + by, 310.0)),
        element("pair.rests", "segment", (-60.0, 190.0, -20.0 + by), (-60.0, -190.0, -20.0)),
        element("control.engine_front", "point", (380.0, 110.0 + by, 40.0)),
        element("control.spar_left", "point", (250.0, 150.0, 240.0 - by)),
        element("control.spar_right", "point", (250.0, -150.0, 240.0)),
        element("axis.shock_bolt", "segment", (60.0, 60.0, 150.0), (60.0 - by, -60.0, 150.0)),
        element("fork_left", "segment", (530.0, 105.0, 480.0), (720.0 - by, 105.0, 30.0)),
        element("fork_right", "segment", (530.0, -105.0, 480.0), (720.0, -105.0, 30.0)),
        wheel("front_wheel", (790.0 - 2 * by, by, -60.0), (0.0, math.cos(lean), lean), 216.0),
        wheel("rear_wheel", (-540.0, 0.6 * by, -70.0), (0.0, 1.0, 0.0), 216.0),
    ]


def whole(back: float = 0.0, by: float = 0.0) -> OutlineOut:
    """A machine measured all over, bent, and the reference of it."""
    return {
        "measured": machine((560.0 - back, back / 3, 330.0 + back / 4), by),
        "reference": machine(),
        "levelled": True,
    }


def fork_without_reference(
    back: float = 0.0, left: float = 0.0, castor_deg: float = 24.0
) -> OutlineOut:
    """A fork and wheel measured with the head; the reference knows the head alone."""
    head = (560.0 - back, left, 330.0)
    return {
        "measured": [
            *frame(head, castor_deg),
            element("fork_left", "segment", (530.0, 105.0, 480.0), (720.0, 105.0, 30.0)),
            wheel("front_wheel", (790.0, 0.0, -60.0), (0.0, 1.0, 0.0), 216.0),
            element("pair.tail", "segment", (-420.0, 90.0, 310.0), (-420.0, -90.0, 310.0)),
        ],
        "reference": frame(),
        "levelled": True,
    }
