"""A whole invented machine after its crash, measured in full, and the reference to it.

About 60 points, every feature: what `jigbook solve` is tried with, and what is timed.
"""

from dataclasses import replace
from typing import Any

import numpy as np

from app.demonstration.extent import ALUMINIUM, STEEL, Extent, Warmth
from app.demonstration.handling_truth import Running
from app.demonstration.machine import SOUND, Arm, Fork, Machine, Wheel, with_bent_pivot
from app.demonstration.machine_survey import measure
from app.demonstration.machine_truth import Terms, true_values
from app.demonstration.pose import Pose
from app.demonstration.rigs import Rig
from app.demonstration.survey_document import document
from app.demonstration.vectors import turned

CRASHED = with_bent_pivot(
    replace(
        SOUND,
        head=Pose(-0.9, 1.6, 692.5, 318.0, 22.9, 259.8),
        arm=Arm(559.6, 9.0, toe_deg=0.05, twist_deg=-0.25, offset_mm=0.4),
        fork=Fork(0.05, 0.45, 204.6, rake_deg=-0.6, lean_deg=0.1, offset_mm=29.5, aside_mm=0.3),
        front_wheel=Wheel((25.0, 0.8, -421.0), toe_deg=0.2, lean_deg=0.5, width_mm=90.0),
        rear_wheel=Wheel((-553.0, 0.6, -88.0), toe_deg=0.1, lean_deg=-0.2, width_mm=150.0),
    ),
    turned([0.0006, 0.012, -0.0004]),
    (0.2, -0.1, 0.1),
)
"""Invented: a blow from ahead bent the head back and to the left, and crossed the legs."""
WARMTH = Warmth(24.0, per_k={"frame": STEEL, "arm": ALUMINIUM, "wheel": ALUMINIUM})
EXTENT = Extent(
    rig=Rig(pivot_mm=(250.0, -250.0), head_face_points=3, bore_mm=(5.0, 160.0)),
    returned=("axle_face",),
    warmth=WARMTH,
)
SEED = 20260316
RUNNING = Running()
INVENTED = "invented, to try Jigbook with"
COMMON_PRACTICE = "common practice, no source"

DIAGONALS = (
    ("engine_front_left", "engine_rear_right"),
    ("engine_front_right", "engine_rear_left"),
)
LIMITS = {
    "head_twist": 0.3, "head_offset": 2.0, "axis_distance": 3.0, "face_position": 3.0,
    "head_reach": 4.0, "head_height": 4.0, "head_angle": 0.6,
    "arm_length": 2.0, "axle_toe": 0.3, "axle_twist": 0.4, "axle_offset": 2.0,
    "datum_roll": 0.4, "datum_yaw": 0.4, "datum_shift": 2.0,
    "fork_spread": 0.25, "fork_cross": 0.25, "fork_spacing": 1.5, "fork_rake": 0.4,
    "fork_lean": 0.4, "fork_offset": 1.5,
    "wheel_lean": 0.8, "wheel_track": 4.0, "front_wheel_lean": 0.6, "front_wheel_offset": 3.0,
    "pair_offset": 2.0, "pair_roll": 0.6, "pair_skew": 0.6, "axis_toe": 0.5, "axis_twist": 0.5,
    "control": 2.0, "distance": 1.5,
}  # fmt: skip
"""Allowed either way, degrees for angles, else mm; by the first part of a key. That of the head
twist is common practice (no source), the others are invented."""


def terms(machine: Machine = SOUND) -> Terms:
    return Terms("by_control", 0.0, machine.controls, {"seat_rear": 0.5}, DIAGONALS)


def full_reference() -> dict[str, Any]:
    """The invented model as it left its invented works, with a limit on everything."""
    values = true_values(SOUND, terms())
    lines = {key: _line(key, value) for key, value in values.items()}
    lines["pivot_width"] = {"nominal": SOUND.head.pivot_width_mm}
    return {
        "format": "jigbook.reference/1",
        "machine": {"make": "Invented Works", "model": "Example 700 complete", "years": "2023"},
        "materials": {"frame": "steel", "arm": "aluminium", "fork": "steel", "wheel": "aluminium"},
        "levelling": "by_control",
        "provenance": {"kind": "invented", "detail": INVENTED},
        "characteristics": lines,
        "control_points": {name: list(place) for name, place in SOUND.controls.items()},
        "control_weights": dict(terms().weights),
        "face_squareness_deg": EXTENT.rig.face_squareness_deg,
        "handling": {name: getattr(RUNNING, name) for name in Running.__dataclass_fields__},
        "rim_width_mm": {"front": 90.0, "rear": 150.0},
        "wheel_runout_u_mm": EXTENT.runout_mm,
        "repair": {"straightening": "unknown", "limit_mm": None},
    }


def _line(key: str, value: float) -> dict[str, Any]:
    """A deviation may be in either direction; a control point's nominal is nothing."""
    limit = LIMITS.get(key.split(".")[0])
    nominal = round(value, 3) + 0.0
    if limit is None:
        return {"nominal": nominal}
    source = COMMON_PRACTICE if key == "head_twist" else INVENTED
    return {"nominal": nominal, "lower": -limit, "upper": limit, "source": source}


def full_survey() -> dict[str, Any]:
    """The crashed machine before anything was done to it."""
    measured = measure(CRASHED, EXTENT, np.random.default_rng(SEED))
    return document(
        measured.survey,
        phase="before",
        by="Invented Technician",
        mounting="wheels on, on a centre stand (invented, made by the simulator)",
        chain_adjusters=dict(measured.survey.chain_adjusters),
        fork_runout_mm={"left": 0.12, "right": 0.3},
        instrument={"name": "invented measuring arm"},
    )
