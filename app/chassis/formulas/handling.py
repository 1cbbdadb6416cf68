"""Handling figures, for information only: trail, and where the tyres touch the ground.

normal trail = R sin e - f, trail = (R sin e - f) / cos e: J. P. Meijaard et al., Proc. R. Soc. A
463 (2007) 1955-1982; V. Cossalter, Motorcycle Dynamics. The tyres' crown is ignored.
"""

import math
from collections.abc import Mapping
from typing import NamedTuple

from app.chassis.survey import Handling
from app.geometry.dual import Scalar, cos, sin, tan


class Upright(NamedTuple):
    """The rear wheel with the arm at its droop: rad, pointing left and top to the right."""

    plan_toe: Scalar
    lean: Scalar


def figures(known: Mapping[str, Scalar], given: Handling) -> dict[str, Scalar]:
    """known: characteristics, mm and rad; mm, positive to the left. What lacks an input is not
    there."""
    found: dict[str, Scalar] = {}
    if "head_angle" in known and given.attitude_deg is not None:
        rake = known["head_angle"] + math.radians(given.attitude_deg)
        found |= _trails(rake, given)
        found |= _front_contact(known, rake, given.head_above_ground_mm)
    upright = _upright(known, given.arm_droop_deg)
    if upright is not None:
        if "axle_offset" in known and given.rear_tyre_radius_mm is not None:
            shift = sin(upright.lean) * given.rear_tyre_radius_mm
            found["rear_contact_mm"] = known["axle_offset"] + shift
        found |= _wheel_line(found, upright.plan_toe, given.wheelbase_mm)
    return found


def _trails(rake: Scalar, given: Handling) -> dict[str, Scalar]:
    radius, offset = given.front_tyre_radius_mm, given.fork_offset_mm
    if radius is None or offset is None:
        return {}
    normal = sin(rake) * radius - offset
    return {"normal_trail_mm": normal, "trail_mm": normal / cos(rake)}


def _front_contact(
    known: Mapping[str, Scalar], rake: Scalar, height: float | None
) -> dict[str, Scalar]:
    if height is None or not ("head_offset" in known and "head_twist" in known):
        return {}
    shift = tan(known["head_twist"]) * height / cos(rake)
    return {"front_contact_mm": known["head_offset"] + shift}


def _upright(known: Mapping[str, Scalar], droop_deg: float | None) -> Upright | None:
    if droop_deg is None or not ("axle_toe" in known and "axle_twist" in known):
        return None
    droop = math.radians(droop_deg)
    cosine, sine = math.cos(droop), math.sin(droop)
    toe, twist = known["axle_toe"], known["axle_twist"]
    return Upright(toe * cosine + twist * sine, twist * cosine - toe * sine)


def _wheel_line(
    found: Mapping[str, Scalar], plan_toe: Scalar, wheelbase: float | None
) -> dict[str, Scalar]:
    if wheelbase is None or not ("front_contact_mm" in found and "rear_contact_mm" in found):
        return {}
    apart = found["front_contact_mm"] - found["rear_contact_mm"]
    return {"wheel_line_mm": apart - tan(plan_toe) * wheelbase}
