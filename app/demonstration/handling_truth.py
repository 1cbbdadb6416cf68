"""How a known machine truly runs: trail, and where its wheels touch the ground.

Trail by drawing: the wheel's centre, the steering axis and the ground are placed in a side view,
and the trail is read from where they meet. Lateral places by the design's linear relations
(section 5.8), which ignore the tyre's crown. Lengths in mm, angles in degrees.
"""

import math
from dataclasses import dataclass

from app.demonstration.machine import Arm, Machine


@dataclass(frozen=True, slots=True)
class Running:
    """The machine as it runs: what the reference says and no survey shows."""

    attitude_deg: float = 0.0
    fork_offset_mm: float = 32.0
    front_tyre_radius_mm: float = 300.0
    rear_tyre_radius_mm: float = 310.0
    wheelbase_mm: float = 1420.0
    arm_droop_deg: float = 8.0
    head_above_ground_mm: float = 700.0


def trails(angle_deg: float, running: Running) -> dict[str, float]:
    """Trail square to the steering axis and along the ground; angle from the vertical."""
    lean = math.radians(angle_deg)
    up, ahead = complex(-math.sin(lean), math.cos(lean)), complex(math.cos(lean), math.sin(lean))
    # The steering axis passes the origin; the wheel's centre stands ahead of it by the offset.
    centre = running.fork_offset_mm * ahead
    contact = centre - 1j * running.front_tyre_radius_mm
    ground = up * (contact.imag / up.imag)
    normal = (ground - contact).real * up.imag
    return {"normal_trail_mm": normal, "trail_mm": (ground - contact).real}


def handling_values(machine: Machine, head_angle_deg: float, running: Running) -> dict[str, float]:
    """All figures for a machine whose levelled head angle is known."""
    angle = head_angle_deg + running.attitude_deg
    found = trails(angle, running)
    head = machine.head
    # The steering axis meets the ground beside the mid-plane by its slope seen from behind.
    slope = math.tan(math.radians(head.head_twist_deg)) / math.cos(math.radians(angle))
    front = head.head_offset_mm + running.head_above_ground_mm * slope
    found["front_contact_mm"] = front
    if machine.arm is not None:
        plan_toe, lean = on_the_road(machine.arm, running.arm_droop_deg)
        rear = machine.arm.offset_mm + running.rear_tyre_radius_mm * math.sin(lean)
        found["rear_contact_mm"] = rear
        found["wheel_line_mm"] = front - rear - running.wheelbase_mm * math.tan(plan_toe)
    return found


def on_the_road(arm: Arm, droop_deg: float) -> tuple[float, float]:
    """Rad: toe seen from above, and lean: the pair of toe and twist, turned by the droop."""
    droop = math.radians(droop_deg)
    small = complex(math.radians(arm.toe_deg), math.radians(arm.twist_deg))
    seen = small * complex(math.cos(droop), -math.sin(droop))
    return seen.real, seen.imag
