"""Sense codes: which way a characteristic points. `wording` makes the words.

With a nominal the sense speaks of the deviation (the number to print is its size); without one
it speaks of the value. Each row: positive, negative, exactly zero.

A length that has no direction of its own (`axis_distance`, `pivot_width`) has the one code
`..._alone` when there is no nominal to compare it with.
"""

_Senses = tuple[str, str, str]

OF_DEVIATION: dict[str, _Senses] = {
    "head_twist": ("clockwise_from_behind", "anticlockwise_from_behind", "head_twist_none"),
    "head_offset": ("head_to_the_left", "head_to_the_right", "head_offset_none"),
    "axis_distance": ("axis_farther_from_pivot", "axis_nearer_to_pivot", "axis_distance_none"),
    "face_position": ("face_higher_along_axis", "face_lower_along_axis", "face_position_none"),
    "head_reach": ("head_forward", "head_rearward", "head_reach_none"),
    "head_height": ("head_higher", "head_lower", "head_height_none"),
    "head_angle": ("head_leans_back_more", "head_leans_back_less", "head_angle_none"),
    "pivot_width": ("pivot_wider", "pivot_narrower", "pivot_width_none"),
    "face_squareness": ("face_more_out_of_square", "face_less_out_of_square", "face_square"),
    "bore_runout": ("bore_more_off_line", "bore_less_off_line", "bore_on_line"),
}

OF_VALUE: dict[str, _Senses] = {
    "head_twist": ("clockwise_from_behind", "anticlockwise_from_behind", "head_twist_none"),
    "head_offset": ("head_to_the_left", "head_to_the_right", "head_offset_none"),
    "axis_distance": ("axis_distance_alone", "axis_distance_alone", "axis_distance_alone"),
    "face_position": ("face_above_foot", "face_below_foot", "face_at_foot"),
    "head_reach": ("head_ahead_of_pivot", "head_behind_pivot", "head_above_pivot_exactly"),
    "head_height": ("head_above_pivot", "head_below_pivot", "head_level_with_pivot"),
    "head_angle": ("head_leans_back", "head_leans_forward", "head_upright"),
    "pivot_width": ("pivot_width_alone", "pivot_width_alone", "pivot_width_alone"),
    "face_squareness": ("face_out_of_square", "face_out_of_square", "face_square"),
    "bore_runout": ("bore_off_line", "bore_off_line", "bore_on_line"),
}


def sense_code(key: str, value: float, deviation: float | None) -> str:
    """The sense of a characteristic, from its deviation if it has one, else from its value."""
    table, number = (OF_VALUE, value) if deviation is None else (OF_DEVIATION, deviation)
    positive, negative, none = table[key]
    return positive if number > 0.0 else negative if number < 0.0 else none
