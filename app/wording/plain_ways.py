"""Which way a part is off, as one would say it to the owner: "11 mm too far back"."""

from app.chassis.senses import OF_DEVIATION, family
from app.wording.labels import named
from app.wording.numbers import size
from app.wording.translation import _, later

WAYS: dict[str, str] = {
    "clockwise_from_behind": later("its top {size} to the right"),
    "anticlockwise_from_behind": later("its top {size} to the left"),
    "head_to_the_left": later("{size} too far to the left"),
    "head_to_the_right": later("{size} too far to the right"),
    "axis_farther_from_pivot": later("{size} too far from the swing-arm pivot"),
    "axis_nearer_to_pivot": later("{size} too near to the swing-arm pivot"),
    "face_higher_along_axis": later("{size} too far up the steering axis"),
    "face_lower_along_axis": later("{size} too far down the steering axis"),
    "head_forward": later("{size} too far forward"),
    "head_rearward": later("{size} too far back"),
    "head_higher": later("{size} too high"),
    "head_lower": later("{size} too low"),
    "head_leans_back_more": later("{size} too flat"),
    "head_leans_back_less": later("{size} too steep"),
    "face_more_out_of_square": later("its lower face {size} more out of square"),
    "face_less_out_of_square": later("its lower face {size} less out of square"),
    "bore_more_off_line": later("its bearing seats {size} off one line"),
    "bore_less_off_line": later("its bearing seats {size} less off one line"),
    "pivot_wider": later("{size} too wide"),
    "pivot_narrower": later("{size} too narrow"),
    "pivot_left_high": later("its left end {size} too high"),
    "pivot_right_high": later("its right end {size} too high"),
    "pivot_left_rearward": later("its left end {size} too far back"),
    "pivot_right_rearward": later("its right end {size} too far back"),
    "pivot_to_the_left": later("{size} too far to the left"),
    "pivot_to_the_right": later("{size} too far to the right"),
    "arm_longer": later("{size} too long"),
    "arm_shorter": later("{size} too short"),
    "axle_points_left": later("the wheel pointing {size} to the left"),
    "axle_points_right": later("the wheel pointing {size} to the right"),
    "axle_clockwise": later("the axle turned {size} clockwise, seen from behind"),
    "axle_anticlockwise": later("the axle turned {size} anticlockwise, seen from behind"),
    "axle_to_the_left": later("the axle {size} too far to the left"),
    "axle_to_the_right": later("the axle {size} too far to the right"),
    "pair_to_the_left": later("{name} {size} too far to the left"),
    "pair_to_the_right": later("{name} {size} too far to the right"),
    "pair_left_high": later("{name}: the left end {size} too high"),
    "pair_right_high": later("{name}: the right end {size} too high"),
    "pair_left_rearward": later("{name}: the left end {size} too far back"),
    "pair_right_rearward": later("{name}: the right end {size} too far back"),
    "line_left_rearward": later("{name}: the left end {size} too far back"),
    "line_right_rearward": later("{name}: the right end {size} too far back"),
    "line_left_high": later("{name}: the left end {size} too high"),
    "line_right_high": later("{name}: the right end {size} too high"),
    "control_forward": later("{name} {size} too far forward"),
    "control_rearward": later("{name} {size} too far back"),
    "control_to_the_left": later("{name} {size} too far to the left"),
    "control_to_the_right": later("{name} {size} too far to the right"),
    "control_higher": later("{name} {size} too high"),
    "control_lower": later("{name} {size} too low"),
    "distance_longer": later("from {name} to {second} {size} too long"),
    "distance_shorter": later("from {name} to {second} {size} too short"),
    "legs_tops_apart": later("the legs {size} apart towards the top"),
    "legs_tops_together": later("the legs {size} together towards the top"),
    "left_leg_top_forward": later("the top of the left leg {size} too far forward"),
    "right_leg_top_forward": later("the top of the right leg {size} too far forward"),
    "legs_farther_apart": later("the legs {size} too far apart"),
    "legs_closer": later("the legs {size} too close together"),
    "legs_lean_forward": later("its top {size} too far forward"),
    "legs_lean_back": later("its top {size} too far back"),
    "legs_lean_right": later("its top {size} to the right"),
    "legs_lean_left": later("its top {size} to the left"),
    "legs_farther_forward": later("{size} too far forward"),
    "legs_farther_back": later("{size} too far back"),
    "wheels_lean_right": later("the front wheel leaning {size} to the right of the rear one"),
    "wheels_lean_left": later("the front wheel leaning {size} to the left of the rear one"),
    "front_track_left": later("the front wheel {size} to the left of the rear one"),
    "front_track_right": later("the front wheel {size} to the right of the rear one"),
    "front_wheel_right_top": later("the top of the front wheel {size} to the right"),
    "front_wheel_left_top": later("the top of the front wheel {size} to the left"),
    "front_wheel_left": later("the front wheel {size} to the left of the head"),
    "front_wheel_right": later("the front wheel {size} to the right of the head"),
}
"""By the sense code of a deviation. Of the head no lean is said: it may as well be turned."""
WHOLE_MM = 9.5
"""From here on a tenth of a millimetre tells an owner nothing."""


def way(key: str, deviation: float, unit: str) -> str:
    """Return which way and how much a characteristic is off its reference; mm or degrees."""
    row = OF_DEVIATION[family(key)]
    code = row.positive if deviation > 0.0 else row.negative
    name, second = (*map(named, key.split(".")[1:]), "", "")[:2]
    return _(WAYS[code]).format(size=roughly(deviation, unit), name=name, second=second)


def roughly(deviation: float, unit: str) -> str:
    """Return a size to as few places as say something: `11 mm`, `2.4 mm`, `1.1°`."""
    if unit == "mm" and abs(deviation) >= WHOLE_MM:
        return size(deviation, unit, 0)
    return size(deviation, unit, 1 if float(size(deviation, "", 1)) else 2)
