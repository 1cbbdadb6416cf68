"""The one door of the engine: a survey and a reference in, a result out."""

import math
from dataclasses import replace

import numpy as np

from app.chassis import (
    bore_check,
    caveats,
    orientation,
    outline,
    set_up,
    steering_check,
    units,
    verdicts,
)
from app.chassis.characteristics import Found, characteristics
from app.chassis.contributions import effective_degrees_of_freedom
from app.chassis.frames import along, dot, scaled
from app.chassis.levelling import nominal_distance, nominal_invariants
from app.chassis.preparation import prepare
from app.chassis.result import ENGINE_VERSION, Caveat, Characteristic, Outline, Result
from app.chassis.set_up import SetUp
from app.chassis.survey import Floats, Options, Reference, Survey
from app.errors import Refusal

DEFAULT = Options()
MAY_BE_UNITS = frozenset({"coincident_points", "steering_hardly_turned", "axis_not_determined"})


def evaluate(survey: Survey, reference: Reference, options: Options = DEFAULT) -> Result:
    """Characteristics with their uncertainties, verdicts, and the checks behind them.

    Raises errors.Refusal with one of the codes of `refusals` where no honest answer can be given.
    """
    checked, other, advice, first_order_only = _estimated(survey, reference)
    warnings = [*checked.prepared.warnings, *advice]
    found = characteristics(checked, reference)
    warnings += found.warnings
    _check_size(found, reference)
    orientation_found = _orientation(survey, reference, checked, found)
    if orientation_found == "not_checked":
        warnings.append(caveats.orientation_not_checked())
    if checked.noise.check.verdict == "noisier":
        warnings.append(_noisier(checked))
    covariance = found.contributions.covariance
    judged = _judged(checked, found, covariance, reference, options, first_order_only)
    if other is not None:
        differing = characteristics(other, reference)
        judged = _not_contradicted(
            judged,
            _judged(
                other,
                differing,
                differing.contributions.covariance,
                reference,
                options,
                first_order_only,
            ),
        )
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


def _estimated(
    survey: Survey, reference: Reference
) -> tuple[SetUp, SetUp | None, list[Caveat], bool]:
    """The estimate that stands with its checks, the one that contradicts it, advice, and whether
    first order suffices not.

    Raises Refusal; for its units where a survey in other units would explain it.
    """
    try:
        agreement = bore_check.check(prepare(survey, reference))
        chosen, contrary = agreement.chosen, agreement.other
        checked = set_up.check(chosen)
        advice, first_order_only = steering_check.check(
            checked.stack, checked.fitted, checked.prepared.bore_fixes
        )
    except Refusal as refusal:
        if refusal.code in MAY_BE_UNITS:
            units.check_roughly(survey, nominal_distance(reference.characteristics))
        raise
    other = None
    if contrary is not None:
        other = replace(
            set_up.check(contrary),
            noise=checked.noise,
            rig=checked.rig,
        )
    return checked, other, agreement.warnings + advice, first_order_only


def _not_contradicted(
    judged: tuple[Characteristic, ...], others: tuple[Characteristic, ...]
) -> tuple[Characteristic, ...]:
    """Undecided where an estimate that contradicts this one comes to another verdict."""
    verdict = {item.key: (item.verdict, item.side) for item in others}
    return tuple(
        item
        if verdict.get(item.key, (item.verdict, item.side)) == (item.verdict, item.side)
        else replace(item, verdict="undecided", side=None)
        for item in judged
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


def _check_size(found: Found, reference: Reference) -> None:
    if found.distance is None:
        return
    known = reference.characteristics
    if found.position is None:
        units.check("steer_target", found.distance, nominal_invariants(known)[0])
    else:
        distance = math.hypot(found.distance, found.position)
        units.check("head_face", distance, nominal_distance(known))


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
