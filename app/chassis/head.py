"""The head against the datum: what a bare frame shows without levelling, and its derivatives."""

import math
from typing import NamedTuple

from app.chassis.frames import Vector, along, cross, dot, minus, scaled
from app.chassis.survey import Floats

# Columns of the gradients: the pivot axis's unit vector and point, the steering axis's unit
# vector and point (three each), the places of the left and the right face along the pivot axis,
# and the height of the head face along the steering axis.
COLUMNS = 15
LEFT, RIGHT, HEIGHT = 12, 13, 14


class Quantity(NamedTuple):
    """One number (mm or rad), and its gradient (15,) by the columns above.

    by_row: (rows,) by the rows of the estimate, what reaches the quantity beside the gradient.
    """

    value: float
    gradient: tuple[float, ...]
    by_row: Floats | None = None


def head_twist(left: Vector, up: Vector) -> Quantity:
    """Lack of squareness of the two axes, asin(-up . left), rad; positive: top to the right."""
    lean = dot(up, left)
    square = math.sqrt(1.0 - lean * lean)
    return Quantity(
        math.asin(-lean),
        (*scaled(up, -1.0 / square), *_NONE, *scaled(left, -1.0 / square), *_NONE, 0, 0, 0),
    )


def axis_distance(left: Vector, pivot: Vector, up: Vector, point: Vector) -> Quantity:
    """From the pivot axis ahead to the steering axis, both seen in the mid-plane, mm."""
    lean = dot(up, left)
    square = math.sqrt(1.0 - lean * lean)
    ahead = scaled(cross(left, up), 1.0 / square)
    arm = minus(point, pivot)
    distance = dot(ahead, arm)
    tilt = distance * lean / square**2
    return Quantity(
        distance,
        (
            *along(scaled(cross(up, arm), 1.0 / square), tilt, up),
            *scaled(ahead, -1.0),
            *along(scaled(cross(arm, left), 1.0 / square), tilt, left),
            *ahead,
            *(0, 0, 0),
        ),
    )


def face_position(
    left: Vector, pivot: Vector, up: Vector, point: Vector, height: float
) -> Quantity:
    """H along the steering axis as seen in the mid-plane, from the foot of O, upward, mm."""
    lean = dot(up, left)
    square = math.sqrt(1.0 - lean * lean)
    arm = minus(along(point, height, up), pivot)
    across = dot(left, arm)
    risen = scaled(along(up, -lean, left), 1.0 / square)
    position = dot(risen, arm)
    tilt = position * lean / square**2
    by_up = along(scaled(along(arm, -across, left), 1.0 / square), height, risen)
    by_left = scaled(along(scaled(up, across), lean, arm), -1.0 / square)
    return Quantity(
        position,
        (
            *along(by_left, tilt, up),
            *scaled(risen, -1.0),
            *along(by_up, tilt, left),
            *risen,
            *(0, 0, square),
        ),
    )


def head_offset(
    left: Vector, up: Vector, point: Vector, height: float, left_face: float, right_face: float
) -> Quantity:
    """H from the middle between the faces, along the pivot axis, to the left, mm."""
    head = along(point, height, up)
    return Quantity(
        dot(left, head) - (left_face + right_face) / 2.0,
        (*head, *_NONE, *scaled(left, height), *left, -0.5, -0.5, dot(left, up)),
    )


def pivot_width(left_face: float, right_face: float) -> Quantity:
    """Distance of the faces, mm."""
    return Quantity(left_face - right_face, (0,) * 12 + (1.0, -1.0, 0.0))


_NONE = (0, 0, 0)
