"""Is the steering axis well enough determined by what was measured?"""

import math

from app.chassis import caveats, refusals
from app.chassis.estimate import check_condition, radii, tilt_u
from app.chassis.result import Caveat
from app.chassis.stacking import Stack
from app.metrology.estimation import Estimate

RATIO_FIRST_ORDER = 0.1
TILT_FIRST_ORDER_DEG = 0.5
# A tilt of the axis about H shortens axis_distance whichever way it goes, by distance * tilt² / 2:
# 0.03 mm at 700 mm and 0.5°, 0.1 mm at 1°. First order does not know of that, and its own u follows
# the tilt that was found: 0.12 to 0.78 mm from survey to survey with two bore points of 0.1 mm
# 8 mm apart (1.0°). What claims to cover 95 % then covers 90 %; 95 % again at 0.5° (simulated).
TURN_NEEDED_DEG = 40.0
APART_LOWEST_DEG, APART_HIGHEST_DEG = 60.0, 120.0


def check(stack: Stack, fitted: Estimate, bore_fixes: bool) -> tuple[list[Caveat], bool]:
    """Warnings, and whether first order does not suffice. Raises Refusal.

    bore_fixes: two bore points fix the axis, whatever the arcs show.
    """
    if len(stack.observations.blocks) == 1:
        return [], False
    check_condition(stack, fitted)
    tilt = math.degrees(tilt_u(fitted))
    first_order_only = tilt > TILT_FIRST_ORDER_DEG
    warnings = [caveats.first_order_only_tilt(tilt)] if first_order_only else []
    if bore_fixes:
        return warnings, first_order_only
    for target, (radius, u) in radii(stack, fitted).items():
        if not refusals.RADIUS_LOWEST_MM <= radius <= refusals.RADIUS_HIGHEST_MM:
            raise refusals.radius_unusable(target, radius)
        ratio = u / radius
        if ratio > refusals.RADIUS_RATIO_HIGHEST:
            raise refusals.radius_uncertain(target, ratio)
        if ratio >= RATIO_FIRST_ORDER:
            first_order_only = True
            warnings.append(caveats.first_order_only(target, ratio))
    if tilt > refusals.TILT_HIGHEST_DEG:
        raise refusals.axis_tilt_uncertain(tilt)
    return warnings + _advice(stack, fitted.parameters.tolist()), first_order_only


def _advice(stack: Stack, parameters: list[float]) -> list[Caveat]:
    angles = [0.0 if c < 0 else parameters[c] for c in stack.first_turns()]
    turned = math.degrees(max(angles) - min(angles))
    warnings = []
    if turned < TURN_NEEDED_DEG:
        warnings.append(caveats.steering_turned_little(turned, TURN_NEEDED_DEG))
    if len(stack.bodies) == 2:
        one, other = (complex(*parameters[c : c + 2]) for c in stack.bodies.values())
        turn = one * other.conjugate()
        apart = math.degrees(abs(math.atan2(turn.imag, turn.real)))
        if apart < APART_LOWEST_DEG:
            warnings.append(caveats.targets_stacked(apart))
        elif apart > APART_HIGHEST_DEG:
            warnings.append(caveats.targets_opposite(apart))
    return warnings
