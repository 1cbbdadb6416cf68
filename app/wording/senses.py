"""Which way, in words: a sense code and a number become "0.11° anticlockwise seen from behind"."""

from app.chassis.senses import OF_VALUE, family, sense_code
from app.wording.numbers import MOST_PLACES, exact, size
from app.wording.translation import _, later

SENSES: dict[str, str] = {
    "clockwise_from_behind": later("{size} clockwise seen from behind, square to the head"),
    "anticlockwise_from_behind": later("{size} anticlockwise seen from behind, square to the head"),
    "head_twist_none": later("square to the pivot axis"),
    "head_to_the_left": later("{size} to the left of the middle"),
    "head_to_the_right": later("{size} to the right of the middle"),
    "head_offset_none": later("in the middle"),
    "axis_farther_from_pivot": later("{size} farther from the pivot axis than the reference"),
    "axis_nearer_to_pivot": later("{size} nearer to the pivot axis than the reference"),
    "axis_distance_none": later("as far from the pivot axis as the reference"),
    "axis_distance_alone": later("{size} from the pivot axis"),
    "face_higher_along_axis": later("{size} farther up the steering axis than the reference"),
    "face_lower_along_axis": later("{size} farther down the steering axis than the reference"),
    "face_position_none": later("where the reference has it along the steering axis"),
    "face_above_foot": later("{size} above the point of the steering axis nearest the pivot"),
    "face_below_foot": later("{size} below the point of the steering axis nearest the pivot"),
    "face_at_foot": later("at the point of the steering axis nearest the pivot"),
    "head_forward": later("{size} forward of the reference"),
    "head_rearward": later("{size} rearward of the reference"),
    "head_reach_none": later("as far forward as the reference"),
    "head_ahead_of_pivot": later("{size} ahead of the pivot axis"),
    "head_behind_pivot": later("{size} behind the pivot axis"),
    "head_above_pivot_exactly": later("straight above the pivot axis"),
    "head_higher": later("{size} higher than the reference"),
    "head_lower": later("{size} lower than the reference"),
    "head_height_none": later("as high as the reference"),
    "head_above_pivot": later("{size} above the pivot axis"),
    "head_below_pivot": later("{size} below the pivot axis"),
    "head_level_with_pivot": later("level with the pivot axis"),
    "head_leans_back_more": later("{size} farther back than the reference"),
    "head_leans_back_less": later("{size} steeper than the reference"),
    "head_angle_none": later("at the angle of the reference"),
    "head_leans_back": later("{size} leaning back from the vertical"),
    "head_leans_forward": later("{size} leaning forward from the vertical"),
    "head_upright": later("upright"),
    "pivot_wider": later("{size} wider than the reference"),
    "pivot_narrower": later("{size} narrower than the reference"),
    "pivot_width_none": later("as wide as the reference"),
    "pivot_width_alone": later("{size} wide"),
    "face_more_out_of_square": later("{size} more out of square than the reference"),
    "face_less_out_of_square": later("{size} less out of square than the reference"),
    "face_square": later("square to the steering axis"),
    "face_out_of_square": later("{size} out of square to the steering axis"),
    "bore_more_off_line": later("{size} more off one line than the reference"),
    "bore_less_off_line": later("{size} less off one line than the reference"),
    "bore_off_line": later("{size} off one line"),
    "bore_on_line": later("on one line"),
    "arm_longer": later("{size} longer than the reference"),
    "arm_shorter": later("{size} shorter than the reference"),
    "arm_length_none": later("as long as the reference"),
    "arm_length_alone": later("{size} from the pivot axis to the middle of the axle"),
    "axle_points_left": later("{size} with the wheel pointing to the left"),
    "axle_points_right": later("{size} with the wheel pointing to the right"),
    "axle_toe_none": later("square to the arm seen from above"),
    "axle_clockwise": later("{size} clockwise seen from behind along the arm"),
    "axle_anticlockwise": later("{size} anticlockwise seen from behind along the arm"),
    "axle_twist_none": later("level with the pivot axis"),
    "axle_to_the_left": later("{size} to the left of the middle"),
    "axle_to_the_right": later("{size} to the right of the middle"),
    "axle_offset_none": later("in the middle"),
    "pair_to_the_left": later("{size} to the left of the middle"),
    "pair_to_the_right": later("{size} to the right of the middle"),
    "pair_offset_none": later("in the middle"),
    "pair_left_high": later("{size} with the left end high"),
    "pair_right_high": later("{size} with the right end high"),
    "pair_roll_none": later("level"),
    "pair_left_rearward": later("{size} with the left end rearward"),
    "pair_right_rearward": later("{size} with the right end rearward"),
    "pair_skew_none": later("square seen from above"),
    "line_left_rearward": later("{size} with the left end rearward"),
    "line_right_rearward": later("{size} with the right end rearward"),
    "line_toe_none": later("square seen from above"),
    "line_left_high": later("{size} with the left end high"),
    "line_right_high": later("{size} with the right end high"),
    "line_twist_none": later("level"),
    "control_forward": later("{size} forward of the reference"),
    "control_rearward": later("{size} rearward of the reference"),
    "control_x_none": later("as far forward as the reference"),
    "control_to_the_left": later("{size} to the left of the reference"),
    "control_to_the_right": later("{size} to the right of the reference"),
    "control_y_none": later("as far to the side as the reference"),
    "control_higher": later("{size} higher than the reference"),
    "control_lower": later("{size} lower than the reference"),
    "control_z_none": later("as high as the reference"),
    "distance_longer": later("{size} longer than the reference"),
    "distance_shorter": later("{size} shorter than the reference"),
    "distance_none": later("as long as the reference"),
    "distance_alone": later("{size} apart"),
    "pivot_left_high": later("{size} with the left end of the pivot axis high"),
    "pivot_right_high": later("{size} with the right end of the pivot axis high"),
    "datum_roll_none": later("level among the control points"),
    "pivot_left_rearward": later("{size} with the left end of the pivot axis rearward"),
    "pivot_right_rearward": later("{size} with the right end of the pivot axis rearward"),
    "datum_yaw_none": later("square among the control points seen from above"),
    "pivot_to_the_left": later("{size} to the left of the control points' middle"),
    "pivot_to_the_right": later("{size} to the right of the control points' middle"),
    "datum_shift_none": later("in the control points' middle"),
    "legs_tops_apart": later("{size} apart towards the top"),
    "legs_tops_together": later("{size} together towards the top"),
    "legs_spread_none": later("parallel seen from the front"),
    "left_leg_top_forward": later("{size} with the top of the left leg forward"),
    "right_leg_top_forward": later("{size} with the top of the right leg forward"),
    "legs_cross_none": later("parallel seen from the side"),
    "legs_farther_apart": later("{size} farther apart than the reference"),
    "legs_closer": later("{size} closer together than the reference"),
    "fork_spacing_none": later("as far apart as the reference"),
    "fork_spacing_alone": later("{size} apart"),
    "legs_lean_forward": later("{size} with the top forward of the steering axis"),
    "legs_lean_back": later("{size} with the top rearward of the steering axis"),
    "fork_rake_none": later("parallel to the steering axis seen from the side"),
    "legs_lean_right": later("{size} with the top to the right of the steering axis"),
    "legs_lean_left": later("{size} with the top to the left of the steering axis"),
    "fork_lean_none": later("parallel to the steering axis seen from the front"),
    "legs_farther_forward": later("{size} farther forward than the reference"),
    "legs_farther_back": later("{size} farther back than the reference"),
    "fork_offset_none": later("as far forward as the reference"),
    "legs_ahead_of_axis": later("{size} ahead of the steering axis"),
    "legs_behind_axis": later("{size} behind the steering axis"),
    "legs_on_axis": later("on the steering axis"),
    "wheels_lean_right": later(
        "{size} with the top of the front wheel to the right, against the rear wheel"
    ),
    "wheels_lean_left": later(
        "{size} with the top of the front wheel to the left, against the rear wheel"
    ),
    "wheels_lean_none": later("both wheels lean alike"),
    "front_track_left": later("{size} with the front wheel to the left of the rear wheel's plane"),
    "front_track_right": later(
        "{size} with the front wheel to the right of the rear wheel's plane"
    ),
    "wheels_track_none": later("the front wheel stands in the rear wheel's plane"),
    "front_wheel_right_top": later("{size} with the top to the right of the steering axis"),
    "front_wheel_left_top": later("{size} with the top to the left of the steering axis"),
    "front_wheel_true": later("in line with the steering axis"),
    "front_wheel_left": later("{size} to the left of the head"),
    "front_wheel_right": later("{size} to the right of the head"),
    "front_wheel_centred": later("in line with the head"),
    "contact_behind_axis": later("{size} behind the steering axis, square to it"),
    "contact_ahead_of_axis": later("{size} ahead of the steering axis, square to it"),
    "contact_on_axis": later("on the steering axis"),
    "contact_behind_on_ground": later("{size} behind the steering axis, along the ground"),
    "contact_ahead_on_ground": later("{size} ahead of the steering axis, along the ground"),
    "contact_at_axis": later("where the steering axis meets the ground"),
    "front_contact_left": later("{size} to the left of the middle"),
    "front_contact_right": later("{size} to the right of the middle"),
    "front_contact_none": later("in the middle"),
    "rear_contact_left": later("{size} to the left of the middle"),
    "rear_contact_right": later("{size} to the right of the middle"),
    "rear_contact_none": later("in the middle"),
    "front_left_of_rear": later("{size} to the left of the rear wheel's line"),
    "front_right_of_rear": later("{size} to the right of the rear wheel's line"),
    "wheels_in_line": later("on the rear wheel's line"),
}

COMPARED_WITH_ZERO = frozenset(
    {
        "clockwise_from_behind", "anticlockwise_from_behind",
        "head_to_the_left", "head_to_the_right",
        "axle_points_left", "axle_points_right", "axle_clockwise", "axle_anticlockwise",
        "axle_to_the_left", "axle_to_the_right",
        "pair_to_the_left", "pair_to_the_right", "pair_left_high", "pair_right_high",
        "pair_left_rearward", "pair_right_rearward",
        "line_left_rearward", "line_right_rearward", "line_left_high", "line_right_high",
        "pivot_left_high", "pivot_right_high", "pivot_left_rearward", "pivot_right_rearward",
        "pivot_to_the_left", "pivot_to_the_right",
        "legs_tops_apart", "legs_tops_together", "left_leg_top_forward", "right_leg_top_forward",
        "legs_lean_forward", "legs_lean_back", "legs_lean_right", "legs_lean_left",
        "wheels_lean_right", "wheels_lean_left", "front_track_left", "front_track_right",
        "front_wheel_right_top", "front_wheel_left_top", "front_wheel_left", "front_wheel_right",
    }
)  # fmt: skip
"""Senses that name a direction of their own, whether they speak of a value or a deviation."""


def sentence(code: str, number: float, unit: str, decimals: int, nominal: float | None) -> str:
    """Return the sense of a characteristic in words, without a minus sign.

    `number` is the deviation where there is a nominal, else the value.
    """
    if nominal and number == 0.0:
        return _("as the reference has it")
    text = _(SENSES[code]).format(size=_size(number, unit, decimals))
    if code in COMPARED_WITH_ZERO and nominal:
        return _("{sense}, against the reference").format(sense=text)
    return text


def value(key: str, number: float, unit: str, decimals: int | None) -> str:
    """Return a value with its unit; one below zero with its direction instead of a minus.

    decimals: None for a value that was entered, which is shown with no place more or less.
    """
    if number < 0 and family(key) in OF_VALUE:
        shown = MOST_PLACES if decimals is None else decimals
        return sentence(sense_code(key, number, None), number, unit, shown, None)
    return exact(number, unit) if decimals is None else size(number, unit, decimals)


def _size(number: float, unit: str, decimals: int) -> str:
    if number and not float(size(number, "", decimals)):
        return _("under {size}").format(size=size(10.0**-decimals, unit, decimals))
    return size(number, unit, decimals)


def set_by_levelling() -> str:
    """Return what is said of a value that levelling makes equal to its nominal."""
    return _("made equal to the reference by levelling")
