"""The one door of the formulas: associated features and a reference in, quantities out."""

import math
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from app.chassis import caveats
from app.chassis.associated import Associated
from app.chassis.formulas import control_points, fork, handling, head, pairs, swing_arm, wheels
from app.chassis.formulas.control_points import ControlPoints
from app.chassis.formulas.levelling import level
from app.chassis.formulas.machine_axes import Datum, MachineAxes, ahead, axes_along, datum
from app.chassis.formulas.swing_arm import AxleMiddle
from app.chassis.levelling import SET_BY
from app.chassis.result import Caveat
from app.chassis.survey import NO_HANDLING, Reference
from app.geometry.dual import Scalar, Vector

HEAD_KEYS = ("head_offset", "head_twist", "head_angle")
IN_DEGREES = frozenset({"head_angle"})


@dataclass(frozen=True, slots=True)
class Computed:
    """values: characteristics in order, mm and rad, by key; handling: its figures, by name.

    Every one has slopes with derivatives, and (trials,) values over trials, even where it is a
    constant. ahead: X by the rule of the head, the arm or the levelling points, before levelling
    (over trials only where nothing levels); axes: levelled where `levelled` names the rule that did
    it, else with X ahead; None without.
    """

    values: dict[str, Scalar]
    handling: dict[str, Scalar]
    ahead: Vector | None
    axes: MachineAxes | None
    levelled: str | None
    warnings: list[Caveat]


def computed(
    associated: Associated,
    reference: Reference,
    *,
    only: Collection[str] | None = None,
    without: Collection[str] = (),
) -> Computed:
    """All that the associated features tell.

    only: keys of characteristics wanted, None for all; without: keys that are not wanted because
    another path gives them. Raises Refusal `levelling_not_determined`, with derivatives only.
    """
    stands = _stand(associated, reference)
    levelled_axes = stands.axes if stands.levelled else None
    values: dict[str, Scalar] = head.characteristics(associated, stands.datum, without)
    warnings = list(stands.warnings)
    if levelled_axes is not None:
        found = head.levelled(associated, stands.datum, levelled_axes, without)
        values |= _set_by_rule(found, reference)
    if stands.axle is not None:
        values |= swing_arm.characteristics(associated, stands.axle, stands.datum)
    values |= pairs.characteristics(associated.points.get("pair", {}), stands.datum, levelled_axes)
    if levelled_axes is not None:
        further, skipped = pairs.further_axes(associated.lines, levelled_axes)
        values |= further
        warnings += skipped
    values |= _of_control(associated, reference, stands)
    for part in (_of_fork(associated), _of_wheels(associated, reference, levelled_axes)):
        values |= part.values
        warnings += part.warnings
    figures = _handling(values, associated, reference, stands, levelled_axes)
    if only is not None:
        values = {key: value for key, value in values.items() if key in only}
    like = associated.pivot.direction
    return Computed(
        {key: _whole(value, like) for key, value in values.items()},
        {name: _whole(value, like) for name, value in figures.items()},
        stands.ahead,
        stands.axes,
        reference.levelling if stands.levelled else None,
        warnings,
    )


class _Stand(NamedTuple):
    """Where the machine stands: the datum, the axle's middle, the axes, and what was not known."""

    datum: Datum
    axle: AxleMiddle | None
    control: ControlPoints
    ahead: Vector | None
    axes: MachineAxes | None
    levelled: bool
    warnings: list[Caveat]


def _stand(associated: Associated, reference: Reference) -> _Stand:
    where, warnings = datum(associated), []
    axle = swing_arm.axle_middle(associated, where)
    if axle is not None and axle.assumed:
        warnings.append(caveats.axle_ends_assumed_symmetric())
    if axle is None and associated.rear_axle is not None:
        warnings.append(caveats.axle_middle_unknown())
    control = control_points.control_points(associated.points.get("control", {}), reference)
    turned = None
    if _wants_levelling(associated):
        turned, not_levelled = level(associated, reference, where, control)
        warnings += not_levelled
    first = turned
    if turned is None or where.left.value.ndim == 1:
        first = ahead(where, associated.head, None if axle is None else axle.point) or turned
    best = first if turned is None else turned
    axes = None if best is None else axes_along(best, where)
    return _Stand(where, axle, control, first, axes, turned is not None, warnings)


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


def _of_control(associated: Associated, reference: Reference, stands: _Stand) -> dict[str, Scalar]:
    found: dict[str, Scalar] = {}
    if stands.axes is not None:
        found |= control_points.deviations(
            stands.control, stands.datum, stands.axes, levelled=stands.levelled
        )
    found |= control_points.distances(associated.points.get("control", {}), reference)
    return found | control_points.pivot_axis(stands.control, stands.datum)


class _Part(NamedTuple):
    values: Mapping[str, Scalar]
    warnings: list[Caveat]


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


def _of_wheels(
    associated: Associated, reference: Reference, levelled_axes: MachineAxes | None
) -> _Part:
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
    if rear is not None and levelled_axes is not None:
        found = wheels.against_rear(front, rear, steering, levelled_axes)
        if found is None:
            warnings.append(caveats.wheel_never_straight())
        values |= found or {}
    return _Part(values | wheels.against_steering(front, steering, associated.head), warnings)


def _handling(
    values: Mapping[str, Scalar],
    associated: Associated,
    reference: Reference,
    stands: _Stand,
    levelled_axes: MachineAxes | None,
) -> dict[str, Scalar]:
    """The head's characteristics are made again where another path gives them."""
    if reference.handling == NO_HANDLING:
        return {}
    left_out = [key for key in HEAD_KEYS if key not in values]
    others = [key for key in head.KEYS if key not in left_out]
    known = dict(values)
    if left_out:
        known |= head.characteristics(associated, stands.datum, others)
        if levelled_axes is not None:
            found = head.levelled(associated, stands.datum, levelled_axes, others)
            known |= _set_by_rule(found, reference)
    return handling.figures(known, reference.handling)


def _whole(quantity: Scalar, like: Vector) -> Scalar:
    """A constant with slopes of zero, or the same in all trials, as the others have it."""
    if like.slopes is not None:
        slopes = quantity.slopes
        if slopes is None:
            slopes = np.zeros(like.slopes.shape[1])
        return Scalar(float(quantity.value), slopes)
    if like.value.ndim > 1 and np.ndim(quantity.value) == 0:
        return Scalar(np.full(like.value.shape[1], quantity.value))
    return quantity
