"""A whole machine after an invented crash, and sessions in which nothing disturbs."""

from dataclasses import replace

import numpy as np

from app.demonstration.extent import Extent, Warmth
from app.demonstration.machine import (
    SOUND,
    Arm,
    Axis,
    Fork,
    Wheel,
    with_bent_pivot,
)
from app.demonstration.pose import Pose
from app.demonstration.rigs import Rig
from app.demonstration.vectors import turned

PLAIN = replace(
    SOUND,
    head=Pose(0.35, -1.8, 694.0, 322.0, 23.1, 259.6),
    axes={
        "shock_bolt": Axis((-71.0, 3.0, 168.0), toe_deg=0.4, twist_deg=-0.7),
        "linkage": Axis((31.0, -2.0, -81.0), toe_deg=-0.6, twist_deg=0.3),
    },
    arm=Arm(558.5, 11.0, toe_deg=0.45, twist_deg=-0.6, offset_mm=2.1, width_mm=228.0),
    fork=Fork(0.35, -0.5, 204.0, rake_deg=0.8, lean_deg=-0.4, offset_mm=30.5, aside_mm=1.2),
    front_wheel=Wheel((29.0, 1.5, -421.0), toe_deg=0.5, lean_deg=-0.7, width_mm=90.0),
    rear_wheel=Wheel((-553.0, 3.0, -90.0), toe_deg=-0.3, lean_deg=0.6, width_mm=150.0),
)
BENT = with_bent_pivot(PLAIN, turned([-0.006, 0.03, 0.009]), (0.8, -2.4, 1.1))
"""Pivot and head out against the frame's own points, which stand turned by 1.7° as well."""

QUIET = Rig(noise_mm=0.0, face_squareness_deg=0.0, scale_u_ppm=0.0, offset_u_mm=0.0)
EXACT = Extent(
    rig=QUIET,
    runout_mm=0.0,
    warmth=Warmth(u_k=0.0, per_k=dict.fromkeys(("frame", "arm", "fork", "wheel"), (1e-05, 0.0))),
)


def rng(seed: int = 7) -> np.random.Generator:
    return np.random.default_rng(seed)
