"""The characteristics of a head survey: values in their units, and what contributes to each."""

import math
from collections.abc import Collection
from dataclasses import dataclass

import numpy as np

from app.chassis import caveats, head, head_face, levelling, surfaces
from app.chassis.contributions import Contributions
from app.chassis.derivatives import Inputs, estimated, head_contributions
from app.chassis.features import SIDES
from app.chassis.head import Quantity
from app.chassis.levelling import Levelled
from app.chassis.result import Caveat
from app.chassis.set_up import SetUp
from app.chassis.survey import Floats, Reference, Survey
from app.chassis.verdicts import UNITS, Row

ORDER = (
    "head_twist",
    "head_offset",
    "axis_distance",
    "face_position",
    "head_reach",
    "head_height",
    "head_angle",
    "pivot_width",
)


@dataclass(frozen=True, slots=True)
class Found:
    """rows in order, their contributions, and what the outline needs.

    scattered: variances by the points, whose size is an estimate when the noise check or the
    replicates made it one, with degrees_of_freedom.
    """

    rows: list[Row]
    contributions: Contributions
    scattered: list[float]
    degrees_of_freedom: float | None
    levelled: Levelled | None
    distance: float | None
    position: float | None
    height: float | None
    sides: dict[str, float]
    """Places of the faces along the pivot axis, to the left, mm about the pivot."""
    warnings: list[Caveat]

    def u_of(self, key: str) -> float:
        """Standard uncertainty of a characteristic, in its unit."""
        place = [row.key for row in self.rows].index(key)
        return math.sqrt(sum(self.contributions.parts[place]))


def characteristics(
    set_up: SetUp, survey: Survey, reference: Reference, squareness: float
) -> Found:
    """squareness: rad."""
    prepared, pivot, steering = set_up.prepared, set_up.pivot, set_up.steering
    sides = surfaces.sides(prepared, pivot)
    birge = set_up.noise.birge_ratio
    face = plane = None
    if steering is not None and prepared.points.first.get("head_face"):
        places = prepared.points.of("head_face")
        face = surfaces.head_face(prepared, places, steering, birge**2)
        plane = head_face.plane(face, squareness)
    inputs = Inputs(
        set_up.stack,
        set_up.fitted,
        pivot,
        steering,
        _shift(set_up),
        sides,
        face,
        plane,
        birge,
        squareness,
        survey.instrument.offset_u_mm,
        survey.instrument.scale_u_ppm * 1e-6,
        prepared.expansion,
    )
    height = None if plane is None else float(plane.value[0])
    places_along = {
        name: side.value * (1 if name == "left" else -1) for name, side in sides.items()
    }
    quantities = _quantities(inputs, places_along, height)
    levelled, warnings = _level(quantities, reference, steering is not None, height is not None)
    rows, gradient = _rows(quantities, levelled)
    contributions = head_contributions(inputs, gradient)
    freedom = _freedom(set_up)
    return Found(
        rows,
        contributions,
        [] if freedom is None else contributions.variances(estimated(inputs, set_up.prepared)),
        freedom,
        levelled,
        _value(quantities, "axis_distance"),
        _value(quantities, "face_position"),
        height,
        places_along,
        warnings + _missing(set_up, sides.keys()),
    )


def _freedom(set_up: SetUp) -> float | None:
    """Degrees of freedom of the points' uncertainty; None: taken as known."""
    if set_up.noise.birge_ratio > 1.0:
        return set_up.noise.check.degrees_of_freedom
    return set_up.prepared.uncertainty.degrees_of_freedom


def _shift(set_up: SetUp) -> Floats:
    start = set_up.prepared.steering
    return np.zeros(3) if start is None else np.array(start.origin) @ start.frame


def _value(quantities: dict[str, Quantity], key: str) -> float | None:
    return quantities[key].value if key in quantities else None


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
    return found


def _level(
    quantities: dict[str, Quantity], reference: Reference, steering: bool, head: bool
) -> tuple[Levelled | None, list[Caveat]]:
    if not steering:
        return None, []
    if not head:
        return None, [caveats.levelling_missing(reference.levelling, "head_face")]
    return levelling.level(
        reference, quantities["axis_distance"].value, quantities["face_position"].value
    )


def _rows(quantities: dict[str, Quantity], levelled: Levelled | None) -> tuple[list[Row], Floats]:
    """Values and gradients (k, 15), in the units of the characteristics."""
    values = {key: quantity.value for key, quantity in quantities.items()}
    slopes = {key: np.array(quantity.gradient) for key, quantity in quantities.items()}
    set_key = None
    if levelled is not None:
        set_key = levelled.set_key
        by_d, by_h = slopes["axis_distance"], slopes["face_position"]
        numbers = (levelled.reach, levelled.height, levelled.angle)
        for key, value, (d, h) in zip(levelling.LEVELLED, numbers, levelled.slopes, strict=True):
            values[key], slopes[key] = value, d * by_d + h * by_h
    keys = [key for key in ORDER if key in values]
    factors = [math.degrees(1.0) if key in UNITS else 1.0 for key in keys]
    rows = [
        Row(key, values[key] * factor, key == set_key)
        for key, factor in zip(keys, factors, strict=True)
    ]
    gradient = np.array([slopes[k] * f for k, f in zip(keys, factors, strict=True)])
    return rows, gradient.reshape(len(keys), head.COLUMNS)


def _missing(set_up: SetUp, sides: Collection[str]) -> list[Caveat]:
    absent = tuple(side for side in SIDES if side not in sides)
    warnings = [caveats.faces_missing(absent)] if absent else []
    if set_up.steering is None:
        warnings.append(caveats.steering_missing())
    elif not set_up.prepared.points.first.get("head_face"):
        warnings.append(caveats.head_face_missing())
    return warnings
