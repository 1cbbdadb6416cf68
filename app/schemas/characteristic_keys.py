"""The keys under which a reference may give a nominal and tolerances, and their units."""

import re

DEG = "deg"
MM = "mm"

PLAIN_KEYS: dict[str, str] = {
    "head_twist": DEG,
    "head_offset": MM,
    "axis_distance": MM,
    "face_position": MM,
    "face_squareness": DEG,
    "head_reach": MM,
    "head_height": MM,
    "head_angle": DEG,
    "pivot_width": MM,
    "bore_runout": MM,
    "arm_length": MM,
    "axle_toe": DEG,
    "axle_twist": DEG,
    "axle_offset": MM,
    "datum_roll": DEG,
    "datum_yaw": DEG,
    "datum_shift": MM,
    "fork_spread": DEG,
    "fork_cross": DEG,
    "fork_spacing": MM,
    "fork_rake": DEG,
    "fork_lean": DEG,
    "fork_offset": MM,
    "wheel_lean": DEG,
    "wheel_track": MM,
    "front_wheel_lean": DEG,
    "front_wheel_offset": MM,
}

NAMED_KEYS: dict[str, str] = {
    "pair_offset": MM,
    "pair_roll": DEG,
    "pair_skew": DEG,
    "axis_toe": DEG,
    "axis_twist": DEG,
}
"""Keys that carry the name of what they speak of: `pair_roll.tail`."""

CONTROL_KEY = re.compile(r"control\.([a-z0-9_]{1,60})\.([xyz])")
DISTANCE_KEY = re.compile(r"distance\.([a-z0-9_]{1,60})\.([a-z0-9_]{1,60})")
NAMED_KEY = re.compile(r"([a-z_]+)\.([a-z0-9_]{1,60})")

SET_BY: dict[str, frozenset[str]] = {
    "by_height": frozenset({"head_height"}),
    "by_angle": frozenset({"head_angle"}),
}
"""What a levelling rule makes equal to its nominal, so that no tolerance on it means anything."""


def unit_of(key: str) -> str | None:
    """Return `deg` or `mm`, or None for a key that names no characteristic."""
    if key in PLAIN_KEYS:
        return PLAIN_KEYS[key]
    if CONTROL_KEY.fullmatch(key) or DISTANCE_KEY.fullmatch(key):
        return MM
    named = NAMED_KEY.fullmatch(key)
    return NAMED_KEYS.get(named.group(1)) if named else None
