"""Every refusal of the engine: its code and the numbers that were met and needed.

`wording` makes the sentences. Facts end in their unit; names without one are names or counts.

===========================  ======================================================================
code                         feature; facts
===========================  ======================================================================
not_finite                   feature of the point; point (counted from 1), what (`xyz`, `u`,
                             `offset`, `cov`, `up`, `spacing`, `instrument`, `reference`)
unknown_feature              the word met; point, known (tuple of the known features)
no_uncertainty               feature; point, what (`none`: neither point nor instrument states one;
                             `not_positive`: zero or negative; `not_definite`: `cov` is not positive
                             definite; `spacing`: a target_spacing without one, point 0)
label_missing                feature; point, needed (tuple of labels, or ("name",))
station_missing              `steer_target`; point, target
unknown_turn                 `steer_target`; point, met, needed (tuple)
turn_contradicts             `steer_target`; station
offset_without_normal        feature; point, offset_mm
offset_negative              feature; point, offset_mm
half_turn_without_rim        feature; point: the station half_turn belongs to rims
too_few_points               feature; met, needed, label (a side, or None)
coincident_points            feature; distance_mm, needed_mm, label (the two names, or None)
left_unknown                 `pivot`; no facts: neither pivot nor pivot_face names left and right
spacing_unusable             `steer_target`; one, other, length_mm: a target_spacing between a
                             target and itself, or of no length
unknown_target               `steer_target`; target, known (tuple): a target_spacing names a
                             target of which there is no point
spacing_disagrees            `steer_target`; one, other, length_mm (stated), met_mm (measured), u_mm
                             (of the measured): more than five u apart
axes_not_crosswise           `steer_target` or `head_bore`; angle_deg, needed_deg: the steering axis
                             lies almost along the pivot axis
too_few_stations             `steer_target`; met, needed (3; two suffice with two head_bore points)
levelling_not_determined     `control` (reason `resultant`; met_ratio, needed_ratio of the resultant
                             of the turn; or `lever`, met_mm, needed_mm: all near the pivot) or
                             `level_line` (reason `distance`; met_mm, needed_mm; or
                             `reversed`: the head lies on the side called rear)
points_disagree              feature; label, statistic, limit: its points scatter so far that all
                             else looks bad
axis_not_determined          `steer_target`, `head_bore` or `head_face`; reason (`counts`: with
                             observations, unknowns; `condition`: with reciprocal_condition,
                             needed_condition; `no_solution`; `no_axis`: a head_face without targets
                             and bore, with observations 0, unknowns 4); facts not named are None
steering_hardly_turned       `steer_target`; target (None for `tilt`), reason, met, needed:
                             `moves` (met_mm, needed_mm: 50 times its u), `radius_small` and
                             `radius_large` (met_mm, needed_mm), `radius_uncertain` (met_ratio,
                             needed_ratio), `tilt` (met_deg, needed_deg)
metres, inches, centimetres  `head_face` or what stands for the head; distance (as sent),
                             distance_mm (what it would be), nominal_mm or None
implausible_size             the same; distance_mm, lowest_mm, highest_mm, nominal_mm or None
left_right_or_mirrored       `up` or `control` (agreement, needed_agreement) or `face_position`
                             (met_mm, nominal_mm); three causes: labels exchanged, instrument axes
                             left-handed, `up` wrong
up_unusable                  `up`; agreement, needed_agreement (0.3)
pair_swapped                 feature; label (name of the pair or None), distance_mm (by how much
                             left lies to the right of right along the pivot axis)
mirrored_axes                `steer_target`; left_deg, right_deg (mean angles of the stations turned
                             left and right, about the middle between them)
turn_not_stated              `steer_target`: no target has stations marked as turned left and others
turned_too_little            `steer_target`; met_deg, needed_deg: between the stations turned left
                             and the others
targets_turn_apart           `steer_target`: one target turns left where another one turns right
combine_too_few              None; met, needed (2): nothing to combine
combine_moved                None; survey (counted from 1): its set-up moved
combine_differs              None; survey, what (`levelling`, `reference`, `phase`): in that it is
                             not like the first
combine_same                 None; survey, other: the same points under two names
combine_disagrees            None; survey, key, unit, difference (of the survey from the combined
                             value), statistic, limit: the surveys contradict at 0.1 %
change_moved                 None; phase (`before`, `after`): the set-up of that survey moved
change_differs               None; what (`levelling`): the two were levelled otherwise
===========================  ======================================================================

`unknown_key` and `not_a_survey` belong to reading a file and are raised there.
"""

from app.chassis.result import Caveat
from app.errors import Refusal

POINTS_NEEDED = {"pivot": 2}
MOVE_NEEDED_U = 50.0
APART_NEEDED_U = 10.0
RADIUS_LOWEST_MM = 20.0
RADIUS_HIGHEST_MM = 1500.0
RADIUS_RATIO_HIGHEST = 0.2
TILT_HIGHEST_DEG = 2.0
CONDITION_NEEDED = 1e-8
SIZE_LOWEST_MM = 300.0
SIZE_HIGHEST_MM = 1200.0
AGREEMENT_NEEDED = 0.3
CROSSWISE_NEEDED_DEG = 45.0
CROSSWISE_HIGHEST = 0.7071


def not_finite(feature: str, what: str, point: int | None = None) -> Refusal:
    return Refusal("not_finite", feature, what=what, point=point)


def unknown_feature(feature: str, point: int, known: tuple[str, ...]) -> Refusal:
    return Refusal("unknown_feature", feature, point=point, known=known)


def no_uncertainty(feature: str, point: int, what: str) -> Refusal:
    return Refusal("no_uncertainty", feature, point=point, what=what)


def label_missing(feature: str, point: int, needed: tuple[str, ...]) -> Refusal:
    return Refusal("label_missing", feature, point=point, needed=needed)


def station_missing(point: int, target: str) -> Refusal:
    return Refusal("station_missing", "steer_target", point=point, target=target)


def unknown_turn(point: int, met: str) -> Refusal:
    return Refusal("unknown_turn", "steer_target", point=point, met=met, needed=("left", "right"))


def turn_contradicts(station: str) -> Refusal:
    return Refusal("turn_contradicts", "steer_target", station=station)


def offset_without_normal(feature: str, point: int, offset_mm: float) -> Refusal:
    return Refusal("offset_without_normal", feature, point=point, offset_mm=offset_mm)


def offset_negative(feature: str, point: int, offset_mm: float) -> Refusal:
    return Refusal("offset_negative", feature, point=point, offset_mm=offset_mm)


def half_turn_without_rim(feature: str, point: int) -> Refusal:
    return Refusal("half_turn_without_rim", feature, point=point)


def too_few_points(feature: str, met: int, needed: int, label: str | None = None) -> Refusal:
    return Refusal("too_few_points", feature, met=met, needed=needed, label=label)


def coincident_points(
    feature: str, distance_mm: float, needed_mm: float, label: str | None = None
) -> Refusal:
    return Refusal(
        "coincident_points", feature, distance_mm=distance_mm, needed_mm=needed_mm, label=label
    )


def left_unknown() -> Refusal:
    return Refusal("left_unknown", "pivot")


def spacing_unusable(one: str, other: str, length_mm: float) -> Refusal:
    return Refusal("spacing_unusable", "steer_target", one=one, other=other, length_mm=length_mm)


def unknown_target(target: str, known: tuple[str, ...]) -> Refusal:
    return Refusal("unknown_target", "steer_target", target=target, known=known)


def spacing_disagrees(
    one: str, other: str, length_mm: float, met_mm: float, u_mm: float
) -> Refusal:
    return Refusal(
        "spacing_disagrees",
        "steer_target",
        one=one,
        other=other,
        length_mm=length_mm,
        met_mm=met_mm,
        u_mm=u_mm,
    )


def axes_not_crosswise(angle_deg: float) -> Refusal:
    return Refusal(
        "axes_not_crosswise",
        "steer_target",
        angle_deg=angle_deg,
        needed_deg=CROSSWISE_NEEDED_DEG,
    )


def too_few_stations(met: int, needed: int) -> Refusal:
    return Refusal("too_few_stations", "steer_target", met=met, needed=needed)


def axis_not_determined(
    feature: str,
    reason: str,
    *,
    observations: int | None = None,
    unknowns: int | None = None,
    reciprocal_condition: float | None = None,
) -> Refusal:
    return Refusal(
        "axis_not_determined",
        feature,
        reason=reason,
        observations=observations,
        unknowns=unknowns,
        reciprocal_condition=reciprocal_condition,
        needed_condition=CONDITION_NEEDED,
    )


def target_hardly_moves(target: str, met_mm: float, needed_mm: float) -> Refusal:
    return Refusal(
        "steering_hardly_turned",
        "steer_target",
        target=target,
        reason="moves",
        met_mm=met_mm,
        needed_mm=needed_mm,
    )


def radius_unusable(target: str, met_mm: float) -> Refusal:
    small = met_mm < RADIUS_LOWEST_MM
    return Refusal(
        "steering_hardly_turned",
        "steer_target",
        target=target,
        reason="radius_small" if small else "radius_large",
        met_mm=met_mm,
        needed_mm=RADIUS_LOWEST_MM if small else RADIUS_HIGHEST_MM,
    )


def radius_uncertain(target: str, met_ratio: float) -> Refusal:
    return Refusal(
        "steering_hardly_turned",
        "steer_target",
        target=target,
        reason="radius_uncertain",
        met_ratio=met_ratio,
        needed_ratio=RADIUS_RATIO_HIGHEST,
    )


def axis_tilt_uncertain(met_deg: float) -> Refusal:
    return Refusal(
        "steering_hardly_turned",
        "steer_target",
        target=None,
        reason="tilt",
        met_deg=met_deg,
        needed_deg=TILT_HIGHEST_DEG,
    )


UNIT_MM = {"metres": 1000.0, "inches": 25.4, "centimetres": 10.0}


def control_points_disagree(met_ratio: float, needed_ratio: float) -> Refusal:
    return Refusal(
        "levelling_not_determined",
        "control",
        reason="resultant",
        met_ratio=met_ratio,
        needed_ratio=needed_ratio,
    )


def control_points_near(met_mm: float, needed_mm: float) -> Refusal:
    return Refusal(
        "levelling_not_determined",
        "control",
        reason="lever",
        met_mm=met_mm,
        needed_mm=needed_mm,
    )


def points_disagree(caveat: Caveat) -> Refusal:
    return Refusal("points_disagree", caveat.feature, **dict(caveat.facts))


def level_line_reversed() -> Refusal:
    return Refusal("levelling_not_determined", "level_line", reason="reversed")


def level_line_short(met_mm: float, needed_mm: float) -> Refusal:
    return Refusal(
        "levelling_not_determined",
        "level_line",
        reason="distance",
        met_mm=met_mm,
        needed_mm=needed_mm,
    )


def wrong_unit(unit: str, feature: str, distance: float, nominal_mm: float | None) -> Refusal:
    facts = {"distance": distance, "distance_mm": distance * UNIT_MM[unit]}
    if unit == "metres":
        return Refusal("metres", feature, nominal_mm=nominal_mm, **facts)
    if unit == "inches":
        return Refusal("inches", feature, nominal_mm=nominal_mm, **facts)
    return Refusal("centimetres", feature, nominal_mm=nominal_mm, **facts)


def implausible_size(feature: str, distance_mm: float, nominal_mm: float | None) -> Refusal:
    return Refusal(
        "implausible_size",
        feature,
        distance_mm=distance_mm,
        lowest_mm=SIZE_LOWEST_MM,
        highest_mm=SIZE_HIGHEST_MM,
        nominal_mm=nominal_mm,
    )


def up_contradicts(agreement: float) -> Refusal:
    return Refusal(
        "left_right_or_mirrored",
        "up",
        agreement=agreement,
        needed_agreement=AGREEMENT_NEEDED,
    )


def control_points_mirrored(agreement: float) -> Refusal:
    return Refusal(
        "left_right_or_mirrored",
        "control",
        agreement=agreement,
        needed_agreement=AGREEMENT_NEEDED,
    )


def side_view_contradicts(met_mm: float, nominal_mm: float) -> Refusal:
    return Refusal("left_right_or_mirrored", "face_position", met_mm=met_mm, nominal_mm=nominal_mm)


def up_unusable(agreement: float) -> Refusal:
    return Refusal("up_unusable", "up", agreement=agreement, needed_agreement=AGREEMENT_NEEDED)


def pair_swapped(feature: str, label: str | None, distance_mm: float) -> Refusal:
    """distance_mm: left less right along the pivot axis, negative."""
    return Refusal("pair_swapped", feature, label=label, distance_mm=-distance_mm)


def mirrored_axes(left_deg: float, right_deg: float) -> Refusal:
    return Refusal("mirrored_axes", "steer_target", left_deg=left_deg, right_deg=right_deg)


def turn_not_stated() -> Refusal:
    return Refusal("turn_not_stated", "steer_target")


def turned_too_little(met_deg: float, needed_deg: float) -> Refusal:
    return Refusal("turned_too_little", "steer_target", met_deg=met_deg, needed_deg=needed_deg)


def targets_turn_apart() -> Refusal:
    return Refusal("targets_turn_apart", "steer_target")


def combine_too_few(met: int) -> Refusal:
    return Refusal("combine_too_few", None, met=met, needed=2)


def combine_moved(survey: int) -> Refusal:
    return Refusal("combine_moved", None, survey=survey)


def combine_differs(what: str, survey: int) -> Refusal:
    return Refusal("combine_differs", None, what=what, survey=survey)


def combine_same(survey: int, other: int) -> Refusal:
    return Refusal("combine_same", None, survey=survey, other=other)


def combine_disagrees(
    survey: int, key: str, unit: str, difference: float, statistic: float, limit: float
) -> Refusal:
    return Refusal(
        "combine_disagrees",
        None,
        survey=survey,
        key=key,
        unit=unit,
        difference=difference,
        statistic=statistic,
        limit=limit,
    )


def change_moved(phase: str) -> Refusal:
    return Refusal("change_moved", None, phase=phase)


def change_differs(what: str) -> Refusal:
    return Refusal("change_differs", None, what=what)
