"""The one door of the engine: a survey and a reference in, a result out."""

import math

import numpy as np

from app.chassis import caveats, orientation, outline, set_up, steering_check, units, verdicts
from app.chassis.characteristics import Found, characteristics
from app.chassis.contributions import effective_degrees_of_freedom
from app.chassis.estimate import estimate
from app.chassis.frames import along, dot, scaled
from app.chassis.levelling import nominal_invariants
from app.chassis.preparation import prepare
from app.chassis.result import ENGINE_VERSION, Caveat, Characteristic, Outline, Result
from app.chassis.set_up import SetUp
from app.chassis.survey import Floats, Options, Reference, Survey

DEFAULT = Options()


def evaluate(survey: Survey, reference: Reference, options: Options = DEFAULT) -> Result:
    """Characteristics with their uncertainties, verdicts, and the checks behind them.

    Raises errors.Refusal with one of the codes of `refusals` where no honest answer can be given.
    """
    squareness = math.radians(reference.face_squareness_deg)
    prepared = prepare(survey, reference)
    stack = prepared.stacked()
    checked = set_up.check(prepared, stack, estimate(stack), squareness)
    warnings = list(prepared.warnings)
    first_order_only = False
    if checked.steering is not None:
        advice, first_order_only = steering_check.check(
            checked.stack, checked.fitted, checked.noise.birge_ratio, prepared.bore_fixes
        )
        warnings += advice
    found = characteristics(checked, survey, reference, squareness)
    warnings += found.warnings
    _check_size(found, checked)
    orientation_found = _orientation(survey, reference, checked, found)
    if orientation_found == "not_checked":
        warnings.append(caveats.orientation_not_checked())
    if checked.noise.check.verdict == "noisier":
        warnings.append(_noisier(checked))
    covariance = found.contributions.covariance
    judged = _judged(checked, found, covariance, reference, options, first_order_only)
    return Result(
        ENGINE_VERSION,
        reference.levelling if found.levelled is not None else None,
        options.threshold,
        verdicts.finding(
            judged,
            covariance,
            reference.characteristics,
            options.threshold,
            checked.rig.verdict == "moved",
        ),
        checked.rig,
        checked.noise.check,
        orientation_found,
        judged,
        tuple(item.key for item in judged),
        covariance,
        tuple(warnings),
        _outline(reference, checked, found),
    )


def _judged(
    checked: SetUp,
    found: Found,
    covariance: Floats,
    reference: Reference,
    options: Options,
    first_order_only: bool,
) -> tuple[Characteristic, ...]:
    us = np.sqrt(covariance.diagonal()).tolist()
    freedoms: list[float | None] = [None] * len(us)
    if found.degrees_of_freedom is not None:
        freedoms = effective_degrees_of_freedom(
            covariance.diagonal().tolist(), [(found.scattered, found.degrees_of_freedom)]
        )
    moved = checked.rig.verdict == "moved"
    judged = []
    for place, row in enumerate(found.rows):
        undecidable = moved or (first_order_only and row.key != "pivot_width")
        judged.append(
            verdicts.characteristic(
                row,
                us[place],
                freedoms[place],
                reference.characteristics.get(row.key),
                options.threshold,
                found.contributions.budget(place),
                undecidable,
            )
        )
    return tuple(judged)


def _noisier(checked: SetUp) -> Caveat:
    check = checked.noise.check
    return caveats.noisier_than_claimed(
        checked.noise.birge_ratio, check.statistic or 0.0, check.limit or 0.0
    )


def _check_size(found: Found, checked: SetUp) -> None:
    if found.distance is None:
        return
    distance = math.hypot(found.distance, found.position or 0.0)
    feature = "steer_target" if found.position is None else "head_face"
    nominal = checked.prepared.nominal_distance
    units.check(feature, distance, nominal if found.position is not None else None)


def _orientation(survey: Survey, reference: Reference, checked: SetUp, found: Found) -> str:
    """`checked` or `not_checked`. Raises Refusal when left, right and up contradict."""
    if checked.steering is None or found.distance is None:
        return "not_checked"
    left, up = checked.pivot.direction, checked.steering.direction
    sign = 1.0
    if survey.up is not None:
        ahead = outline.ahead_of(left, up, found.distance, found.position or 0.0)
        orientation.check_up(survey.up, outline.upward_of(ahead, left))
        sign = math.copysign(1.0, dot(up, survey.up))
        seen = True
    elif found.position is not None:
        u = found.u_of("face_position")
        _, nominal = nominal_invariants(reference.characteristics)
        seen = orientation.check_side_view(found.position, u, nominal)
    else:
        seen = False
    turns = orientation.turns_of(checked.prepared.points, checked.prepared.arcs.places)
    if turns:
        stack, parameters = checked.stack, checked.fitted.parameters
        angles = {
            name: 0.0 if column < 0 else sign * float(parameters[column])
            for name, column in stack.turns.items()
        }
        orientation.check_turn(turns, angles)
    return "checked" if seen else "not_checked"


def _outline(reference: Reference, checked: SetUp, found: Found) -> Outline:
    left, sides = checked.pivot.direction, found.sides
    middle = sum(sides.values()) / 2.0 if len(sides) == 2 else dot(left, checked.pivot.point)
    origin = along(checked.pivot.point, middle - dot(left, checked.pivot.point), left)
    faces = {name: y - middle for name, y in sides.items()}
    length = reference.head_length_mm or outline.HEAD_LENGTH_MM
    levelled = found.levelled is not None
    if checked.steering is None or found.distance is None:
        return Outline(outline.measured(faces, None, None, length), (), False)
    up, point = checked.steering.direction, checked.steering.point
    ahead = outline.ahead_of(left, up, found.distance, found.position or 0.0)
    machine = outline.MachineAxes(
        left, origin, ahead, found.levelled.elevation if found.levelled else 0.0
    )
    head = None if found.height is None else machine.place(along(point, found.height, up))
    axis = (machine.place(point), machine.direction(scaled(up, 1.0)))
    return Outline(
        outline.measured(faces, head, axis, length), outline.nominal(reference, levelled), levelled
    )
