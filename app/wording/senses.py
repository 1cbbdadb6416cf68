"""Which way, in words: a sense code and a number become "0.11° anticlockwise seen from behind"."""

from app.wording.numbers import size
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
    "face_higher_along_axis": later("{size} higher along the steering axis than the reference"),
    "face_lower_along_axis": later("{size} lower along the steering axis than the reference"),
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
}

COMPARED_WITH_ZERO = frozenset(
    {
        "clockwise_from_behind",
        "anticlockwise_from_behind",
        "head_to_the_left",
        "head_to_the_right",
    }
)
"""Senses that name a direction of their own, whether they speak of a value or a deviation."""


def sentence(code: str, number: float, unit: str, decimals: int, nominal: float | None) -> str:
    """Return the sense of a characteristic in words, without a minus sign.

    `number` is the deviation where there is a nominal, else the value.
    """
    text = _(SENSES[code]).format(size=_size(number, unit, decimals))
    if code in COMPARED_WITH_ZERO and nominal:
        return _("{sense}, against the reference").format(sense=text)
    return text


def _size(number: float, unit: str, decimals: int) -> str:
    if number and not float(size(number, "", decimals)):
        return _("under {size}").format(size=size(10.0**-decimals, unit, decimals))
    return size(number, unit, decimals)


def set_by_levelling() -> str:
    """Return what is said of a value that levelling makes equal to its nominal."""
    return _("made equal to the reference by levelling")
