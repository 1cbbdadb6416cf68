"""Sense codes: which way a characteristic points. `wording` makes the words.

With a nominal the sense speaks of the deviation (the number to print is its size); without one
it speaks of the value. Each row: positive, negative, exactly zero. Offsets are positive to the
left, twist and roll positive with the left end high (the top leans right), toe, skew and yaw
positive with the left end rearward (what stands on it points left).

A length that has no direction of its own (`axis_distance`, `pivot_width`) has the one code
`..._alone` when there is no nominal to compare it with.

Keys that carry a name are known by their first part (`pair_roll.tail`), those of a control
point also by their axis (`control.engine_front.x`).
"""

from functools import lru_cache
from typing import NamedTuple


class _Row(NamedTuple):
    """Codes for a number above, below and at zero."""

    positive: str
    negative: str
    none: str


# What names a direction of its own says the same of a value and of a deviation.
_EITHER: dict[str, _Row] = {
    "head_twist": _Row("clockwise_from_behind", "anticlockwise_from_behind", "head_twist_none"),
    "head_offset": _Row("head_to_the_left", "head_to_the_right", "head_offset_none"),
    "axle_toe": _Row("axle_points_left", "axle_points_right", "axle_toe_none"),
    "axle_twist": _Row("axle_clockwise", "axle_anticlockwise", "axle_twist_none"),
    "axle_offset": _Row("axle_to_the_left", "axle_to_the_right", "axle_offset_none"),
    "pair_offset": _Row("pair_to_the_left", "pair_to_the_right", "pair_offset_none"),
    "pair_roll": _Row("pair_left_high", "pair_right_high", "pair_roll_none"),
    "pair_skew": _Row("pair_left_rearward", "pair_right_rearward", "pair_skew_none"),
    "axis_toe": _Row("line_left_rearward", "line_right_rearward", "line_toe_none"),
    "axis_twist": _Row("line_left_high", "line_right_high", "line_twist_none"),
    "control.x": _Row("control_forward", "control_rearward", "control_x_none"),
    "control.y": _Row("control_to_the_left", "control_to_the_right", "control_y_none"),
    "control.z": _Row("control_higher", "control_lower", "control_z_none"),
    "datum_roll": _Row("pivot_left_high", "pivot_right_high", "datum_roll_none"),
    "datum_yaw": _Row("pivot_left_rearward", "pivot_right_rearward", "datum_yaw_none"),
    "datum_shift": _Row("pivot_to_the_left", "pivot_to_the_right", "datum_shift_none"),
    "fork_spread": _Row("legs_tops_apart", "legs_tops_together", "legs_spread_none"),
    "fork_cross": _Row("left_leg_top_forward", "right_leg_top_forward", "legs_cross_none"),
    "fork_rake": _Row("legs_lean_forward", "legs_lean_back", "fork_rake_none"),
    "fork_lean": _Row("legs_lean_right", "legs_lean_left", "fork_lean_none"),
    "wheel_lean": _Row("wheels_lean_right", "wheels_lean_left", "wheels_lean_none"),
    "wheel_track": _Row("front_track_left", "front_track_right", "wheels_track_none"),
    "front_wheel_lean": _Row("front_wheel_right_top", "front_wheel_left_top", "front_wheel_true"),
    "front_wheel_offset": _Row("front_wheel_left", "front_wheel_right", "front_wheel_centred"),
}

_OF_DEVIATION_ALONE: dict[str, _Row] = {
    "axis_distance": _Row("axis_farther_from_pivot", "axis_nearer_to_pivot", "axis_distance_none"),
    "face_position": _Row("face_higher_along_axis", "face_lower_along_axis", "face_position_none"),
    "head_reach": _Row("head_forward", "head_rearward", "head_reach_none"),
    "head_height": _Row("head_higher", "head_lower", "head_height_none"),
    "head_angle": _Row("head_leans_back_more", "head_leans_back_less", "head_angle_none"),
    "pivot_width": _Row("pivot_wider", "pivot_narrower", "pivot_width_none"),
    "face_squareness": _Row("face_more_out_of_square", "face_less_out_of_square", "face_square"),
    "bore_runout": _Row("bore_more_off_line", "bore_less_off_line", "bore_on_line"),
    "arm_length": _Row("arm_longer", "arm_shorter", "arm_length_none"),
    "distance": _Row("distance_longer", "distance_shorter", "distance_none"),
    "fork_spacing": _Row("legs_farther_apart", "legs_closer", "fork_spacing_none"),
    "fork_offset": _Row("legs_farther_forward", "legs_farther_back", "fork_offset_none"),
}


def _alone(code: str) -> _Row:
    return _Row(code, code, code)


_OF_VALUE_ALONE: dict[str, _Row] = {
    "axis_distance": _alone("axis_distance_alone"),
    "face_position": _Row("face_above_foot", "face_below_foot", "face_at_foot"),
    "head_reach": _Row("head_ahead_of_pivot", "head_behind_pivot", "head_above_pivot_exactly"),
    "head_height": _Row("head_above_pivot", "head_below_pivot", "head_level_with_pivot"),
    "head_angle": _Row("head_leans_back", "head_leans_forward", "head_upright"),
    "pivot_width": _alone("pivot_width_alone"),
    "face_squareness": _Row("face_out_of_square", "face_out_of_square", "face_square"),
    "bore_runout": _Row("bore_off_line", "bore_off_line", "bore_on_line"),
    "arm_length": _alone("arm_length_alone"),
    "distance": _alone("distance_alone"),
    "fork_spacing": _alone("fork_spacing_alone"),
    "fork_offset": _Row("legs_ahead_of_axis", "legs_behind_axis", "legs_on_axis"),
    "normal_trail_mm": _Row("contact_behind_axis", "contact_ahead_of_axis", "contact_on_axis"),
    "trail_mm": _Row("contact_behind_on_ground", "contact_ahead_on_ground", "contact_at_axis"),
    "front_contact_mm": _Row("front_contact_left", "front_contact_right", "front_contact_none"),
    "rear_contact_mm": _Row("rear_contact_left", "rear_contact_right", "rear_contact_none"),
    "wheel_line_mm": _Row("front_left_of_rear", "front_right_of_rear", "wheels_in_line"),
}

OF_DEVIATION: dict[str, _Row] = {**_EITHER, **_OF_DEVIATION_ALONE}
OF_VALUE: dict[str, _Row] = {**_EITHER, **_OF_VALUE_ALONE}


def sense_code(key: str, value: float, deviation: float | None) -> str:
    """The sense of a characteristic, from its deviation if it has one, else from its value.

    Raises KeyError for a key that names nothing the engine computes.
    """
    table, number = (OF_VALUE, value) if deviation is None else (OF_DEVIATION, deviation)
    row = table[family(key)]
    return row.positive if number > 0.0 else row.negative if number < 0.0 else row.none


@lru_cache(maxsize=1024)
def family(key: str) -> str:
    """The key under which a characteristic's senses stand: the first part, of a control point
    the axis too."""
    first, _, name = key.partition(".")
    if first != "control" or not name:
        return first
    return f"control.{name.rpartition('.')[2]}"
