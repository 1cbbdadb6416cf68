"""What changed between two measurements, and which way, in words."""

from app.schemas.comparing import ChangedOut
from app.wording.numbers import places, size, spread
from app.wording.translation import _, later

WAYS: dict[str, str] = {
    "clockwise_from_behind": later("turned {size} clockwise seen from behind, square to the head"),
    "anticlockwise_from_behind": later(
        "turned {size} anticlockwise seen from behind, square to the head"
    ),
    "head_to_the_left": later("moved {size} to the left"),
    "head_to_the_right": later("moved {size} to the right"),
    "axis_farther_from_pivot": later("{size} farther from the pivot axis"),
    "axis_nearer_to_pivot": later("{size} nearer to the pivot axis"),
    "face_higher_along_axis": later("{size} farther up the steering axis"),
    "face_lower_along_axis": later("{size} farther down the steering axis"),
    "head_forward": later("moved {size} forward"),
    "head_rearward": later("moved {size} rearward"),
    "head_higher": later("{size} higher"),
    "head_lower": later("{size} lower"),
    "head_leans_back_more": later("{size} leaning farther back"),
    "head_leans_back_less": later("{size} steeper"),
    "pivot_wider": later("{size} wider"),
    "pivot_narrower": later("{size} narrower"),
    "face_more_out_of_square": later("{size} more out of square"),
    "face_less_out_of_square": later("{size} less out of square"),
    "bore_more_off_line": later("{size} more off one line"),
    "bore_less_off_line": later("{size} less off one line"),
    "arm_longer": later("{size} longer"),
    "arm_shorter": later("{size} shorter"),
    "axle_points_left": later("turned {size} with the wheel pointing farther to the left"),
    "axle_points_right": later("turned {size} with the wheel pointing farther to the right"),
    "axle_clockwise": later("turned {size} clockwise seen from behind along the arm"),
    "axle_anticlockwise": later("turned {size} anticlockwise seen from behind along the arm"),
    "axle_to_the_left": later("moved {size} to the left"),
    "axle_to_the_right": later("moved {size} to the right"),
    "pair_to_the_left": later("moved {size} to the left"),
    "pair_to_the_right": later("moved {size} to the right"),
    "pair_left_high": later("turned {size} with the left end upward"),
    "pair_right_high": later("turned {size} with the right end upward"),
    "pair_left_rearward": later("turned {size} with the left end rearward"),
    "pair_right_rearward": later("turned {size} with the right end rearward"),
    "line_left_rearward": later("turned {size} with the left end rearward"),
    "line_right_rearward": later("turned {size} with the right end rearward"),
    "line_left_high": later("turned {size} with the left end upward"),
    "line_right_high": later("turned {size} with the right end upward"),
    "control_forward": later("moved {size} forward"),
    "control_rearward": later("moved {size} rearward"),
    "control_to_the_left": later("moved {size} to the left"),
    "control_to_the_right": later("moved {size} to the right"),
    "control_higher": later("{size} higher"),
    "control_lower": later("{size} lower"),
    "distance_longer": later("{size} longer"),
    "distance_shorter": later("{size} shorter"),
    "pivot_left_high": later("turned {size} with the left end of the pivot axis upward"),
    "pivot_right_high": later("turned {size} with the right end of the pivot axis upward"),
    "pivot_left_rearward": later("turned {size} with the left end of the pivot axis rearward"),
    "pivot_right_rearward": later("turned {size} with the right end of the pivot axis rearward"),
    "pivot_to_the_left": later("moved {size} to the left among the control points"),
    "pivot_to_the_right": later("moved {size} to the right among the control points"),
    "legs_tops_apart": later("{size} farther apart towards the top"),
    "legs_tops_together": later("{size} closer together towards the top"),
    "left_leg_top_forward": later("turned {size} with the top of the left leg forward"),
    "right_leg_top_forward": later("turned {size} with the top of the right leg forward"),
    "legs_farther_apart": later("{size} farther apart"),
    "legs_closer": later("{size} closer together"),
    "legs_lean_forward": later("turned {size} with the top forward"),
    "legs_lean_back": later("turned {size} with the top rearward"),
    "legs_lean_right": later("turned {size} with the top to the right"),
    "legs_lean_left": later("turned {size} with the top to the left"),
    "legs_farther_forward": later("{size} farther forward"),
    "legs_farther_back": later("{size} farther back"),
    "wheels_lean_right": later("turned {size} with the top of the front wheel to the right"),
    "wheels_lean_left": later("turned {size} with the top of the front wheel to the left"),
    "front_track_left": later("moved {size} with the front wheel to the left"),
    "front_track_right": later("moved {size} with the front wheel to the right"),
    "front_wheel_right_top": later("turned {size} with the top to the right"),
    "front_wheel_left_top": later("turned {size} with the top to the left"),
    "front_wheel_left": later("moved {size} to the left"),
    "front_wheel_right": later("moved {size} to the right"),
}
"""By the sense code of the change: after less before."""


def sentence(code: str, change: float, unit: str, expanded: float, *, significant: bool) -> str:
    """Return what changed, which way, and how well that is known: without a minus sign."""
    decimals = places(expanded)
    sure = spread(expanded, unit, decimals)
    if not significant:
        return _("no change that could be told from the uncertainty ({sure})").format(sure=sure)
    return _("{changed} ({sure})").format(
        changed=_(WAYS[code]).format(size=size(change, unit, decimals)), sure=sure
    )


def unexplained() -> str:
    """Return what is said of a change in a part that nobody noted to have worked on."""
    return _(
        "No correction of this part is noted, and yet it changed by more than the uncertainty. "
        "Measure it again; if it stays so, look at the rig and at the part."
    )


def in_brief(one: ChangedOut) -> str:
    """Return the same for a row of a table, whose key says what was not told."""
    if one["significant"]:
        return one["sense"]
    expanded = one["expanded_uncertainty"]
    return _("none clear ({sure})").format(sure=spread(expanded, one["unit"], places(expanded)))


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
