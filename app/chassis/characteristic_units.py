"""The unit in which each characteristic leaves the engine: degrees or millimetres.

A key is known by its first part: `pair_roll.tail` is a `pair_roll`.
"""

from functools import lru_cache

ANGLES = frozenset(
    {
        "head_twist", "head_angle", "face_squareness",
        "axle_toe", "axle_twist",
        "pair_roll", "pair_skew", "axis_toe", "axis_twist", "datum_roll", "datum_yaw",
        "fork_spread", "fork_cross", "fork_rake", "fork_lean",
        "wheel_lean", "front_wheel_lean",
    }
)  # fmt: skip
LENGTHS = frozenset(
    {
        "head_offset", "axis_distance", "face_position", "head_reach", "head_height",
        "pivot_width", "bore_runout",
        "arm_length", "axle_offset",
        "pair_offset", "control", "distance", "datum_shift",
        "fork_spacing", "fork_offset",
        "wheel_track", "front_wheel_offset",
    }
)  # fmt: skip
HANDLING = (
    "normal_trail_mm",
    "trail_mm",
    "front_contact_mm",
    "rear_contact_mm",
    "wheel_line_mm",
)
"""Figures for information, not characteristics; all of them lengths."""


@lru_cache(maxsize=1024)
def unit_of(key: str) -> str:
    """Return `deg` or `mm`. Raises KeyError for a key that names nothing the engine computes."""
    first = key.partition(".")[0]
    if first in ANGLES:
        return "deg"
    if first in LENGTHS or first in HANDLING:
        return "mm"
    raise KeyError(key)
