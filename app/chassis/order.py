"""The order in which characteristics are told: the head, the datum, the tail, the arm, the fork."""

from collections.abc import Sequence

ORDER = (
    "head_twist",
    "head_offset",
    "axis_distance",
    "face_position",
    "head_reach",
    "head_height",
    "head_angle",
    "pivot_width",
    "face_squareness",
    "bore_runout",
    "datum_roll",
    "datum_yaw",
    "datum_shift",
    "control",
    "pair_offset",
    "pair_roll",
    "pair_skew",
    "axis_toe",
    "axis_twist",
    "distance",
    "arm_length",
    "axle_toe",
    "axle_twist",
    "axle_offset",
    "fork_spread",
    "fork_cross",
    "fork_spacing",
    "fork_rake",
    "fork_lean",
    "fork_offset",
    "wheel_lean",
    "wheel_track",
    "front_wheel_lean",
    "front_wheel_offset",
)
OF_THE_HEAD = ORDER[: ORDER.index("datum_roll")]
_PLACES = {key: place for place, key in enumerate(ORDER)}


def in_order(keys: Sequence[str]) -> list[int]:
    """Places of the keys: by their first part as above, those of one kind by their names."""
    ranks = [_rank(key) for key in keys]
    return sorted(range(len(keys)), key=ranks.__getitem__)


def _rank(key: str) -> tuple[int, str]:
    first, _, name = key.partition(".")
    return _PLACES[first], name
