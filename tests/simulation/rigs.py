"""The six rigs of the simulations, and the bent chassis that they measure."""

from dataclasses import replace

from app.demonstration.simulator import Pose, Rig, Target

BENT = Pose(
    head_twist_deg=0.35,
    head_offset_mm=-1.8,
    head_reach_mm=694.0,
    head_height_mm=322.0,
    head_angle_deg=23.1,
    pivot_width_mm=259.6,
)

WELL_PLACED = Rig()

RIGS = {
    "well_placed": WELL_PLACED,
    "stacked": replace(
        WELL_PLACED,
        targets=(Target("upper", 180.0, 210.0, 10.0), Target("lower", 160.0, -40.0, 10.0)),
    ),
    "opposite": replace(
        WELL_PLACED,
        targets=(Target("upper", 180.0, 210.0, 90.0), Target("lower", 160.0, -40.0, -90.0)),
    ),
    "three_stations": replace(WELL_PLACED, stations_deg=(-32.0, 0.0, 32.0)),
    "one_bore_point": replace(WELL_PLACED, bore_mm=(160.0,)),
    "two_bore_points": replace(WELL_PLACED, bore_mm=(5.0, 160.0)),
}
