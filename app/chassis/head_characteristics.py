"""The head's characteristics: values, and gradients differentiated by hand.

Every survey has them, so they are kept fast; `formulas` says the same for all else, and both are
tested against each other.
"""

import math
from typing import NamedTuple

import numpy as np

from app.chassis import caveats, head, levelling
from app.chassis.characteristic_units import unit_of
from app.chassis.derivatives import Inputs
from app.chassis.head import Quantity
from app.chassis.levelling import Levelled
from app.chassis.order import OF_THE_HEAD
from app.chassis.result import Caveat
from app.chassis.shape_checks import bore_runout, face_squareness
from app.chassis.survey import Floats, Reference
from app.chassis.verdicts import Row

PER_RADIAN = math.degrees(1.0)


class HeadRows(NamedTuple):
    """rows in order, and what they were computed from; factors: (k,) to the rows' units."""

    rows: list[Row]
    quantities: list[Quantity]
    factors: Floats
    levelled: Levelled | None
    distance: float | None
    position: float | None
    warnings: list[Caveat]


def head_rows(
    inputs: Inputs, sides: dict[str, float], height: float | None, reference: Reference
) -> HeadRows:
    """All that the survey tells of the head and the datum by themselves.

    sides: places of the faces along the pivot axis, height: of the head's face along the steering
    axis, mm.
    """
    quantities = _quantities(inputs, sides, height)
    levelled, warnings = _level(quantities, reference)
    if levelled is not None:
        _add_levelled(quantities, levelled)
    keys = [key for key in OF_THE_HEAD if key in quantities]
    factors = [PER_RADIAN if unit_of(key) == "deg" else 1.0 for key in keys]
    rows = [
        Row(key, quantities[key].value * factor) for key, factor in zip(keys, factors, strict=True)
    ]
    if levelled is not None:
        rows[keys.index(levelled.set_key)] = Row(levelled.set_key, levelled.set_value, True)
    return HeadRows(
        rows,
        [quantities[key] for key in keys],
        np.array(factors),
        levelled,
        quantities["axis_distance"].value if "axis_distance" in quantities else None,
        quantities["face_position"].value if "face_position" in quantities else None,
        warnings,
    )


def _quantities(
    inputs: Inputs, sides: dict[str, float], height: float | None
) -> dict[str, Quantity]:
    left, origin, steering = inputs.pivot.direction, inputs.pivot.point, inputs.steering
    found: dict[str, Quantity] = {}
    if steering is not None:
        up, point = steering.direction, steering.point
        found["head_twist"] = head.head_twist(left, up)
        found["axis_distance"] = head.axis_distance(left, origin, up, point)
        if height is not None:
            found["face_position"] = head.face_position(left, origin, up, point, height)
            if len(sides) == 2:
                found["head_offset"] = head.head_offset(
                    left, up, point, height, sides["left"], sides["right"]
                )
    if len(sides) == 2:
        found["pivot_width"] = head.pivot_width(sides["left"], sides["right"])
    tilt, runout = face_squareness(inputs), bore_runout(inputs)
    if tilt is not None:
        found["face_squareness"] = tilt
    if runout is not None:
        found["bore_runout"] = runout
    return found


def _level(
    quantities: dict[str, Quantity], reference: Reference
) -> tuple[Levelled | None, list[Caveat]]:
    if "axis_distance" not in quantities or reference.levelling in levelling.LATER_RULES:
        return None, []
    if "face_position" not in quantities:
        return None, [caveats.levelling_missing(reference.levelling, "head_face")]
    return levelling.level(
        reference, quantities["axis_distance"].value, quantities["face_position"].value
    )


def _add_levelled(quantities: dict[str, Quantity], levelled: Levelled) -> None:
    by_d = quantities["axis_distance"].gradient
    by_h = quantities["face_position"].gradient
    numbers = (levelled.reach, levelled.height, levelled.angle)
    for key, value, (d, h) in zip(levelling.LEVELLED, numbers, levelled.slopes, strict=True):
        gradient = tuple([d * one + h * other for one, other in zip(by_d, by_h, strict=True)])
        quantities[key] = Quantity(value, gradient)
