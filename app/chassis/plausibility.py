"""Can this be a motorcycle, the right way round? The checks that need the finished estimate."""

import math

from app.chassis import orientation, outline, units
from app.chassis.characteristics import Found
from app.chassis.frames import dot, vector
from app.chassis.levelling import nominal_distance, nominal_invariants
from app.chassis.set_up import SetUp
from app.chassis.survey import Reference, Survey


def check_size(found: Found, reference: Reference) -> None:
    """Raises Refusal where the head lies where no head lies: other units, or no chassis."""
    if found.distance is None:
        return
    known = reference.characteristics
    if found.position is None:
        units.check("steer_target", found.distance, nominal_invariants(known)[0])
    else:
        distance = math.hypot(found.distance, found.position)
        units.check("head_face", distance, nominal_distance(known))


def check_orientation(survey: Survey, reference: Reference, checked: SetUp, found: Found) -> str:
    """`checked` or `not_checked`. Raises Refusal where left, right and up contradict."""
    if checked.steering is None or found.distance is None:
        return _without_head(survey, checked, found)
    left, up = checked.pivot.direction, checked.steering.direction
    seen, sign = False, 1.0
    if survey.up is not None:
        ahead = outline.ahead_of(left, up, found.distance, found.position or 0.0)
        orientation.check_up(survey.up, outline.upward_of(ahead, left))
        seen, sign = True, math.copysign(1.0, dot(up, survey.up))
    elif found.position is not None:
        _, nominal = nominal_invariants(reference.characteristics)
        seen = orientation.check_side_view(found.position, found.u_of("face_position"), nominal)
    turns = orientation.turns_of(checked.prepared.points, checked.prepared.arcs.places)
    if turns:
        orientation.check_turn(turns, _angles(checked, sign))
    return "checked" if seen else "not_checked"


def _without_head(survey: Survey, checked: SetUp, found: Found) -> str:
    """The arm may hang, so that what is square to it need not be near the vertical."""
    forward = None if found.beyond is None else found.beyond.computed.ahead
    if forward is None or survey.up is None:
        return "not_checked"
    assert found.beyond is not None
    hanging = found.beyond.joined.associated.rear_axle is not None
    upward = outline.upward_of(vector(forward.value), checked.pivot.direction)
    return orientation.check_up(survey.up, upward, hanging=hanging)


def _angles(checked: SetUp, sign: float) -> dict[str, float]:
    """Radians of each station, right-handed about the steering axis times the sign."""
    parameters = checked.fitted.parameters
    return {
        name: 0.0 if column < 0 else sign * float(parameters[column])
        for name, column in checked.stack.turns.items()
    }
