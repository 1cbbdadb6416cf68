"""The characteristics of a head survey: values in their units, and what contributes to each."""

import math
from collections.abc import Collection
from typing import NamedTuple

import numpy as np

from app.chassis import caveats, head, levelling
from app.chassis.contributions import Contributions
from app.chassis.derivatives import Inputs, estimated, head_contributions
from app.chassis.features import SIDES
from app.chassis.head import Quantity
from app.chassis.levelling import Levelled
from app.chassis.result import Caveat
from app.chassis.set_up import SetUp
from app.chassis.shape_checks import bore_runout, face_squareness
from app.chassis.survey import Reference
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
    "face_squareness",
    "bore_runout",
)
PER_RADIAN = math.degrees(1.0)


class Found(NamedTuple):
    """rows in order, their contributions, and what the outline needs.

    scattered: variances by the points, whose size is an estimate when the noise check or the
    replicates made it one, with degrees_of_freedom. sides: places of the faces along the pivot
    axis, to the left, mm about the pivot.
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
    warnings: list[Caveat]

    def u_of(self, key: str) -> float:
        """Standard uncertainty of a characteristic, in its unit."""
        place = [row.key for row in self.rows].index(key)
        return math.sqrt(sum(self.contributions.parts[place]))


def characteristics(set_up: SetUp, reference: Reference) -> Found:
    """All that the survey tells of the head and the datum."""
    prepared, parameters = set_up.prepared, set_up.fitted.parameters
    noisier = set_up.noise.birge_ratio > 1.0
    inputs = Inputs(prepared, set_up.stack, set_up.fitted, set_up.pivot, set_up.steering, noisier)
    face = set_up.stack.observations.head
    height = None if face is None else float(parameters[face.column])
    sides = {name: float(parameters[c]) for name, c in set_up.stack.side_columns.items()}
    quantities = _quantities(inputs, sides, height)
    levelled, warnings = _level(quantities, reference)
    if levelled is not None:
        _add_levelled(quantities, levelled)
    rows, contributions = _contributions(inputs, quantities, levelled)
    rows, contributions, damaged = _judge_face(rows, contributions, prepared.squareness)
    freedom = _freedom(set_up)
    return Found(
        rows,
        contributions,
        [] if freedom is None else contributions.variances(estimated(inputs)),
        freedom,
        levelled,
        quantities["axis_distance"].value if "axis_distance" in quantities else None,
        quantities["face_position"].value if "face_position" in quantities else None,
        height,
        sides,
        warnings + damaged + set_up.warnings + _missing(set_up, sides),
    )


def _freedom(set_up: SetUp) -> float | None:
    """Degrees of freedom of the points' uncertainty; None: taken as known."""
    if set_up.noise.birge_ratio > 1.0:
        return set_up.noise.check.degrees_of_freedom
    return set_up.prepared.uncertainty.degrees_of_freedom


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
    if "axis_distance" not in quantities:
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


def _contributions(
    inputs: Inputs, quantities: dict[str, Quantity], levelled: Levelled | None
) -> tuple[list[Row], Contributions]:
    """Rows in order and their contributions, in the units of the characteristics."""
    keys = [key for key in ORDER if key in quantities]
    factors = [PER_RADIAN if key in UNITS else 1.0 for key in keys]
    rows = [
        Row(key, quantities[key].value * factor) for key, factor in zip(keys, factors, strict=True)
    ]
    if levelled is not None:
        rows[keys.index(levelled.set_key)] = Row(levelled.set_key, levelled.set_value, True)
    found = head_contributions(inputs, [quantities[key] for key in keys], np.array(factors))
    return rows, found


def _judge_face(
    rows: list[Row], contributions: Contributions, squareness: float
) -> tuple[list[Row], Contributions, list[Caveat]]:
    """Leave the face's squareness out when it says less than what is assumed of it."""
    for place, row in enumerate(rows):
        if row.key == "face_squareness":
            u = math.sqrt(sum(contributions.parts[place]))
            if u >= math.degrees(squareness):
                return rows[:place] + rows[place + 1 :], contributions.without(place), []
            if row.value > 3.0 * u:
                return rows, contributions, [caveats.face_damaged(row.value, u)]
    return rows, contributions, []


def _missing(set_up: SetUp, sides: Collection[str]) -> list[Caveat]:
    absent = tuple(side for side in SIDES if side not in sides)
    warnings = [caveats.faces_missing(absent)] if absent else []
    if set_up.steering is None:
        warnings.append(caveats.steering_missing())
    elif not set_up.prepared.points.first.get("head_face"):
        warnings.append(caveats.head_face_missing())
    return warnings
