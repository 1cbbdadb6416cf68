"""What changed between two measurements, and which way, in words."""

from app.wording.numbers import places, size, spread
from app.wording.translation import _, later

WAYS: dict[str, str] = {
    "clockwise_from_behind": later("turned clockwise seen from behind, square to the head"),
    "anticlockwise_from_behind": later("turned anticlockwise seen from behind, square to the head"),
    "head_to_the_left": later("moved to the left"),
    "head_to_the_right": later("moved to the right"),
    "axis_farther_from_pivot": later("farther from the pivot axis"),
    "axis_nearer_to_pivot": later("nearer to the pivot axis"),
    "face_higher_along_axis": later("higher along the steering axis"),
    "face_lower_along_axis": later("lower along the steering axis"),
    "head_forward": later("moved forward"),
    "head_rearward": later("moved rearward"),
    "head_higher": later("higher"),
    "head_lower": later("lower"),
    "head_leans_back_more": later("leaning farther back"),
    "head_leans_back_less": later("steeper"),
    "pivot_wider": later("wider"),
    "pivot_narrower": later("narrower"),
    "face_more_out_of_square": later("more out of square"),
    "face_less_out_of_square": later("less out of square"),
    "bore_more_off_line": later("more off one line"),
    "bore_less_off_line": later("less off one line"),
    "arm_longer": later("longer"),
    "arm_shorter": later("shorter"),
    "axle_points_left": later("turned so that the wheel points farther to the left"),
    "axle_points_right": later("turned so that the wheel points farther to the right"),
    "axle_clockwise": later("turned clockwise seen from behind along the arm"),
    "axle_anticlockwise": later("turned anticlockwise seen from behind along the arm"),
    "axle_to_the_left": later("moved to the left"),
    "axle_to_the_right": later("moved to the right"),
    "pair_to_the_left": later("moved to the left"),
    "pair_to_the_right": later("moved to the right"),
    "pair_left_high": later("turned with the left end upward"),
    "pair_right_high": later("turned with the right end upward"),
    "pair_left_rearward": later("turned with the left end rearward"),
    "pair_right_rearward": later("turned with the right end rearward"),
    "line_left_rearward": later("turned with the left end rearward"),
    "line_right_rearward": later("turned with the right end rearward"),
    "line_left_high": later("turned with the left end upward"),
    "line_right_high": later("turned with the right end upward"),
    "control_forward": later("moved forward"),
    "control_rearward": later("moved rearward"),
    "control_to_the_left": later("moved to the left"),
    "control_to_the_right": later("moved to the right"),
    "control_higher": later("higher"),
    "control_lower": later("lower"),
    "distance_longer": later("longer"),
    "distance_shorter": later("shorter"),
    "pivot_left_high": later("turned with the left end of the pivot axis upward"),
    "pivot_right_high": later("turned with the right end of the pivot axis upward"),
    "pivot_left_rearward": later("turned with the left end of the pivot axis rearward"),
    "pivot_right_rearward": later("turned with the right end of the pivot axis rearward"),
    "pivot_to_the_left": later("moved to the left among the control points"),
    "pivot_to_the_right": later("moved to the right among the control points"),
    "legs_tops_apart": later("farther apart towards the top"),
    "legs_tops_together": later("closer together towards the top"),
    "left_leg_top_forward": later("turned with the top of the left leg forward"),
    "right_leg_top_forward": later("turned with the top of the right leg forward"),
    "legs_farther_apart": later("farther apart"),
    "legs_closer": later("closer together"),
    "legs_lean_forward": later("turned with the top forward"),
    "legs_lean_back": later("turned with the top rearward"),
    "legs_lean_right": later("turned with the top to the right"),
    "legs_lean_left": later("turned with the top to the left"),
    "legs_farther_forward": later("farther forward"),
    "legs_farther_back": later("farther back"),
    "wheels_lean_right": later("turned with the top of the front wheel to the right"),
    "wheels_lean_left": later("turned with the top of the front wheel to the left"),
    "front_track_left": later("moved with the front wheel to the left"),
    "front_track_right": later("moved with the front wheel to the right"),
    "front_wheel_right_top": later("turned with the top to the right"),
    "front_wheel_left_top": later("turned with the top to the left"),
    "front_wheel_left": later("moved to the left"),
    "front_wheel_right": later("moved to the right"),
}
"""By the sense code of the change: after less before."""


def sentence(code: str, change: float, unit: str, expanded: float, *, significant: bool) -> str:
    """Return what changed, which way, and how well that is known: without a minus sign."""
    decimals = places(expanded)
    sure = spread(expanded, unit, decimals)
    if not significant:
        return _("no change that could be told from the uncertainty ({sure})").format(sure=sure)
    return _("{size} {way} ({sure})").format(
        size=size(change, unit, decimals), way=_(WAYS[code]), sure=sure
    )


def combined(surveys: int, statistic: float | None, limit: float | None) -> str:
    """Return how many measurements were combined, and whether they agree."""
    if statistic is None or limit is None:
        return _("{count} measurements combined; nothing was measured in more than one").format(
            count=surveys
        )
    return _(
        "{count} measurements combined by weight; they agree within their uncertainties "
        "(chi-square {statistic}, limit at 0.1 % {limit})"
    ).format(count=surveys, statistic=size(statistic, ""), limit=size(limit, ""))
