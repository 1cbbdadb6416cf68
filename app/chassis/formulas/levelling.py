"""The turn about the pivot axis, by the reference's rule, that says what is ahead and what is up.

Each rule gives X, square to the pivot axis; Z follows. None of them needs another X to start from:
by control points, X = unit(A + left × B) with A, B the sums of weight · nominal X, Z · place of the
point in side view, which is the turn of weighted least squares, written without
an angle.
"""

import math
from typing import NamedTuple

import numpy as np

from app.chassis import caveats, refusals
from app.chassis.associated import Associated
from app.chassis.formulas.control_points import ControlPoints
from app.chassis.formulas.machine_axes import Datum
from app.chassis.levelling import HIGHEST_ELEVATION, SET_BY
from app.chassis.result import Caveat
from app.chassis.survey import NO_TOLERANCE, Reference
from app.geometry.dual import (
    Vector,
    cross,
    dot,
    norm,
    reciprocal,
    scalar,
    sqrt,
    square_to,
    unit,
)
from app.geometry.dual_sums import combinations

RESULTANT_NEEDED = 0.5
"""Least share of the resultant in the sum of weight · |measured| · |nominal|."""
LINE_NEEDED_MM = 50.0
"""Least length of the level line, and least lever of the control points, in side view."""


class Levelled(NamedTuple):
    """forward: X after levelling; None: why not stands in the warnings."""

    forward: Vector | None
    warnings: list[Caveat]


def level(
    associated: Associated, reference: Reference, datum: Datum, control: ControlPoints
) -> Levelled:
    """Raises Refusal `levelling_not_determined`, with derivatives only."""
    rule = reference.levelling
    if rule is None:
        return _missing(None, "rule")
    if rule == "by_control":
        return _by_control(datum, control)
    if rule == "by_line":
        return _by_line(associated, datum)
    nominal = reference.characteristics.get(SET_BY[rule], NO_TOLERANCE).nominal
    if nominal is None:
        return _missing(rule, "nominal")
    if associated.steering is None or associated.head is None:
        return _missing(rule, "head_face")
    if rule == "by_height":
        return _by_height(datum.in_side_view(associated.head), nominal, datum)
    return _by_angle(associated.steering.direction, nominal, datum)


def _missing(rule: str | None, needed: str) -> Levelled:
    return Levelled(None, [caveats.levelling_missing(rule, needed)])


def _by_control(datum: Datum, control: ControlPoints) -> Levelled:
    if not control.names:
        return _missing("by_control", "control")
    by_x, by_z = combinations(control.weights * control.nominals[:, ::2].T, control.arms)
    forward = square_to(by_x, datum.left) + cross(datum.left, by_z)
    if forward.value.ndim == 1:
        _require_turn(math.sqrt(forward.value.dot(forward.value)), datum, control)
    return Levelled(unit(forward), [])


def _require_turn(resultant: float, datum: Datum, control: ControlPoints) -> None:
    """The resultant is the sum of weight · |measured| · |nominal| if all agree on one turn."""
    left, arms = datum.left.value, np.array([arm.value for arm in control.arms])
    arms -= arms.dot(left)[:, np.newaxis] * left
    measured = np.sqrt((arms * arms).sum(axis=1))
    nominal = control.weights * np.hypot(control.nominals[:, 0], control.nominals[:, 2])
    largest, size = float(measured @ nominal), float(nominal.sum())
    if not largest >= LINE_NEEDED_MM * size > 0.0:
        raise refusals.control_points_near(largest / size if size else 0.0, LINE_NEEDED_MM)
    if resultant < RESULTANT_NEEDED * largest:
        raise refusals.control_points_disagree(resultant / largest, RESULTANT_NEEDED)


def _by_line(associated: Associated, datum: Datum) -> Levelled:
    ends = associated.points.get("level_line", {})
    if not ("rear" in ends and "front" in ends):
        return _missing("by_line", "level_line")
    forward = square_to(ends["front"] - ends["rear"], datum.left)
    length = norm(Vector(forward.value)).value
    if isinstance(length, float) and not length >= LINE_NEEDED_MM:
        raise refusals.level_line_short(length, LINE_NEEDED_MM)
    if isinstance(length, float) and associated.head is not None:
        ahead = float(dot(forward, datum.in_side_view(associated.head)).value)
        if ahead < 0.0:
            raise refusals.level_line_reversed()
    return Levelled(unit(forward), [])


def _by_height(arm: Vector, nominal: float, datum: Datum) -> Levelled:
    """arm: from the pivot to H in side view; its elevation becomes asin(nominal / length)."""
    length = norm(arm)
    if isinstance(length.value, float):
        impossible = _impossible_height(length.value, nominal)
        if impossible is not None:
            return Levelled(None, [impossible])
    towards = arm / length
    sine = nominal * reciprocal(length)
    cosine = sqrt(1.0 - sine * sine)
    return Levelled(towards * cosine - cross(towards, datum.left) * sine, [])


def _impossible_height(length: float, nominal: float) -> Caveat | None:
    if length <= abs(nominal):
        return caveats.levelling_impossible("by_height", length, nominal, None)
    elevation = math.asin(nominal / length)
    if elevation > HIGHEST_ELEVATION:
        degrees = math.degrees(elevation)
        return caveats.levelling_impossible("by_height", length, nominal, degrees)
    return None


def _by_angle(up: Vector, nominal_deg: float, datum: Datum) -> Levelled:
    """The steering axis leans back by the nominal; ahead of it, in side view, is left × up."""
    nominal = math.radians(nominal_deg)
    ahead_of_axis = unit(cross(datum.left, up))
    axis = cross(ahead_of_axis, datum.left)
    cosine, sine = scalar(math.cos(nominal)), scalar(math.sin(nominal))
    return Levelled(ahead_of_axis * cosine - axis * sine, [])
