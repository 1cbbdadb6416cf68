"""The one door of the formulas: associated features and a reference in, quantities out."""

import math
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import NamedTuple

import numpy as np

from app.chassis import caveats
from app.chassis.associated import Associated
from app.chassis.formulas import control_points, fork, handling, head, pairs, swing_arm, wheels
from app.chassis.formulas.control_points import ControlPoints
from app.chassis.formulas.levelling import Levelled, level
from app.chassis.formulas.machine_axes import Datum, MachineAxes, ahead, axes_along, datum
from app.chassis.formulas.swing_arm import AxleMiddle
from app.chassis.levelling import SET_BY
from app.chassis.result import Caveat
from app.chassis.survey import NO_HANDLING, Reference
from app.geometry.dual import Scalar, Vector

NOTHING_KNOWN: Mapping[str, Scalar] = MappingProxyType({})
IN_DEGREES = frozenset({"head_angle"})


@dataclass(frozen=True, slots=True)
class Computed:
    """values: characteristics in order, mm and rad, by key; handling: its figures, by name.

    Every one has slopes with derivatives, and (trials,) values over trials, even where it is a
    constant. ahead: X by the rule of the head, the arm or the levelling points, before levelling
    (that of the axes where a steering axis, or trials, are levelled); axes: levelled where
    `levelled` names the rule that did it, else with X ahead, which is then taken as exact; None
    without. axle: the middle of the rear axle.
    """

    values: dict[str, Scalar]
    handling: dict[str, Scalar]
    ahead: Vector | None
    axes: MachineAxes | None
    axle: AxleMiddle | None
    levelled: str | None
    warnings: list[Caveat]


def computed(
    associated: Associated,
    reference: Reference,
    *,
    only: Collection[str] | None = None,
    known: Mapping[str, Scalar] = NOTHING_KNOWN,
) -> Computed:
    """All that the associated features tell.

    only: keys of characteristics wanted, None for all; known: characteristics, mm and rad, that
    another path gave: they are not made again, and not among the values. Raises
    Refusal `levelling_not_determined`, with derivatives only.
    """
    stands = _stand(associated, reference)
    parts = [
        _of_head(associated, reference, stands, known),
        _of_arm(associated, stands),
        _across(associated, stands),
        _of_control(associated, reference, stands),
        _of_fork(associated),
        _of_wheels(associated, reference, stands),
    ]
    values = {key: value for part in parts for key, value in part.values.items()}
    figures: dict[str, Scalar] = {}
    if reference.handling != NO_HANDLING:
        figures = handling.figures({**known, **values}, reference.handling)
    if only is not None:
        values = {key: value for key, value in values.items() if key in only}
    return Computed(
        _whole(values, associated.pivot.direction),
        _whole(figures, associated.pivot.direction),
        stands.ahead,
        stands.axes,
        stands.axle,
        reference.levelling if stands.levelled else None,
        [*stands.warnings, *[warning for part in parts for warning in part.warnings]],
    )


class _Stand(NamedTuple):
    """Where the machine stands: the datum, the axle's middle, the axes, and what was not known.

    axes: the best that are known; levelled: the same where a rule levelled them.
    """

    datum: Datum
    axle: AxleMiddle | None
    control: ControlPoints
    ahead: Vector | None
    axes: MachineAxes | None
    levelled: MachineAxes | None
    warnings: list[Caveat]


class _Part(NamedTuple):
    values: Mapping[str, Scalar]
    warnings: list[Caveat]


def _stand(associated: Associated, reference: Reference) -> _Stand:
    where = datum(associated)
    axle = swing_arm.axle_middle(associated, where)
    control = control_points.control_points(associated.points.get("control", {}), where, reference)
    turned, warnings = Levelled(None, [])
    if _wants_levelling(associated):
        turned, warnings = level(associated, reference, where, control)
    first = turned
    if turned is None or (associated.steering is None and where.left.value.ndim == 1):
        first = ahead(where, associated.head, None if axle is None else axle.point) or turned
    levelled = None if turned is None else axes_along(turned, where)
    axes = axes_along(first, where) if levelled is None and first is not None else levelled
    return _Stand(where, axle, control, first, axes, levelled, warnings)


def _wants_levelling(associated: Associated) -> bool:
    """Whether anything was measured of which a characteristic needs levelling."""
    points, rims = associated.points, associated.rims
    return bool(
        associated.steering is not None
        or points.get("pair")
        or points.get("control")
        or points.get("level_line")
        or associated.lines
        or (rims.get("front") and rims.get("rear"))
    )


def _set_by_rule(values: dict[str, Scalar], reference: Reference) -> dict[str, Scalar]:
    """What levelling made equal to its nominal is that number, without rounding or slopes."""
    key = SET_BY.get(reference.levelling or "", "")
    if key in values:
        nominal = reference.characteristics[key].nominal
        assert nominal is not None
        values[key] = Scalar(math.radians(nominal) if key in IN_DEGREES else nominal)
    return values


def _of_head(
    associated: Associated, reference: Reference, stands: _Stand, known: Collection[str]
) -> _Part:
    values = head.characteristics(associated, stands.datum, known)
    if stands.levelled is not None:
        found = head.levelled(associated, stands.datum, stands.levelled, known)
        values |= _set_by_rule(found, reference)
    return _Part(values, [])


def _of_arm(associated: Associated, stands: _Stand) -> _Part:
    if stands.axle is None:
        unknown = associated.rear_axle is not None
        return _Part({}, [caveats.axle_middle_unknown()] if unknown else [])
    values = swing_arm.characteristics(associated, stands.axle, stands.datum)
    return _Part(values, [caveats.axle_ends_assumed_symmetric()] if stands.axle.assumed else [])


def _across(associated: Associated, stands: _Stand) -> _Part:
    """Pairs, and further axes once it is known what is ahead and up."""
    ends = pairs.complete(associated.points.get("pair", {}))
    values = pairs.offsets(ends, stands.datum)
    if stands.levelled is None:
        return _Part(values, [])
    lines, warnings = pairs.crosswise(associated.lines, stands.levelled)
    return _Part(values | pairs.slants(ends, lines, stands.levelled), warnings)


def _of_control(associated: Associated, reference: Reference, stands: _Stand) -> _Part:
    found: dict[str, Scalar] = {}
    if stands.axes is not None:
        found |= control_points.deviations(stands.control, stands.datum, stands.levelled)
    found |= control_points.distances(associated.points.get("control", {}), reference)
    return _Part(found | control_points.pivot_axis(stands.control, stands.datum), [])


def _of_fork(associated: Associated) -> _Part:
    legs, steering, up = associated.legs, associated.steering, associated.up
    if not ("left" in legs and "right" in legs):
        return _Part({}, [])
    if steering is not None:
        upward = steering.direction
    elif up is not None:
        upward = Vector(np.array(up))
    else:
        return _Part({}, [caveats.fork_upward_unknown()])
    both = fork.fork(legs["left"], legs["right"], upward, steering)
    return _Part(fork.between_legs(both) | fork.against_steering(both), [])


def _of_wheels(associated: Associated, reference: Reference, stands: _Stand) -> _Part:
    rims, widths, steering = associated.rims, reference.rim_width_mm, associated.steering
    front = wheels.wheel(rims.get("front", {}), widths.get("front"))
    rear = wheels.wheel(rims.get("rear", {}), widths.get("rear"))
    warnings = [
        caveats.rim_width_missing(name)
        for name, wheel in (("front_rim", front), ("rear_rim", rear))
        if wheel is not None and wheel.centre is None
    ]
    if steering is None or front is None:
        return _Part({}, warnings)
    values: dict[str, Scalar] = {}
    if rear is not None and stands.levelled is not None:
        found = wheels.against_rear(front, rear, steering, stands.levelled)
        if found is None:
            warnings.append(caveats.wheel_never_straight())
        values |= found or {}
    return _Part(values | wheels.against_steering(front, steering, associated.head), warnings)


def _whole(quantities: dict[str, Scalar], like: Vector) -> dict[str, Scalar]:
    """Constants with slopes of zero, or the same in all trials, as the others have it."""
    alone = {key: one.value for key, one in quantities.items() if one.slopes is None}
    if like.slopes is not None:
        none = np.zeros(like.slopes.shape[1])
        return quantities | {key: Scalar(float(value), none) for key, value in alone.items()}
    if like.value.ndim > 1:
        trials = like.value.shape[1]
        same = {key: np.full(trials, value) for key, value in alone.items() if np.ndim(value) == 0}
        return quantities | {key: Scalar(values) for key, values in same.items()}
    return quantities
