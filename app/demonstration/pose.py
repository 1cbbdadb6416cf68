"""A chassis that is known, and what is true of it by the formulas of this file alone."""

import math
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Pose:
    """A chassis: where its steering head stands against its pivot axis.

    Reach, height and angle in one frame turned about the pivot axis at will: levelling says how.
    """

    head_twist_deg: float = 0.0
    head_offset_mm: float = 0.0
    head_reach_mm: float = 700.0
    head_height_mm: float = 320.0
    head_angle_deg: float = 24.0
    pivot_width_mm: float = 260.0


def truth(pose: Pose, levelling: str | None = None, nominal: float = 0.0) -> dict[str, float]:
    """The characteristics of the head; with a rule (`by_height`, `by_angle`) the levelled ones.

    nominal: the head height in mm or the head angle in degrees that the rule makes true.
    """
    angle = math.radians(pose.head_angle_deg)
    head = complex(pose.head_reach_mm, pose.head_height_mm)
    along = complex(-math.sin(angle), math.cos(angle))
    # The head seen from the axis: turned so that the steering axis stands upright, its parts are
    # the distance of the axes and the position along the axis.
    upright = head * along.conjugate() * 1j
    found = {
        "head_twist": pose.head_twist_deg,
        "head_offset": pose.head_offset_mm,
        "axis_distance": upright.real,
        "face_position": upright.imag,
        "pivot_width": pose.pivot_width_mm,
    }
    if levelling is None:
        return found
    if levelling == "by_height":
        raised = math.asin(nominal / abs(head)) - math.atan2(head.imag, head.real)
    elif levelling == "by_angle":
        raised = math.radians(nominal) - angle
    else:
        raise ValueError(levelling)
    level = head * complex(math.cos(raised), math.sin(raised))
    return found | {
        "head_reach": level.real,
        "head_height": level.imag,
        "head_angle": math.degrees(angle + raised),
    }
