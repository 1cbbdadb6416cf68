"""Every warning of the engine: its code, the feature it speaks of, and its facts.

A warning never changes a number by itself; what it does to verdicts stands in the last column.

==========================  =======================================================================
code                        feature; facts; consequence
==========================  =======================================================================
faces_missing               `pivot_face`; sides (the sides missing, joined by ", "): no middle of
                            the machine, head_offset and pivot_width are left out
head_face_missing           `head_face`; no facts: everything that needs H is left out
steering_missing            `steer_target`; no facts: neither targets nor bore, no head at all
probe_radius_unknown        the face's feature; points (how many): taken as measured on the surface
temperature_unknown         None; no facts: nothing is scaled to 20 °C
scale_temperature_unknown   `instrument`; no facts: the instrument's scale is taken to be at 20 °C
material_unknown            None; part, material (or None): nothing of that part is scaled
levelling_missing           None; rule (or None), needed (what is missing: `rule`, `nominal`,
                            `head_face`, `control`, `level_line`): the levelled characteristics
                            are left out
levelling_impossible        None; rule, distance_mm (H from the pivot), nominal_mm, elevation_deg
                            (None where there is none): the levelled characteristics are left out
axle_ends_assumed_symmetric `rear_axle`; no facts: the arm's faces were not measured, the middle
                            of the axle is taken midway between its two ends
axle_middle_unknown         `rear_axle`; no facts: neither faces nor ends of both sides, the arm
                            is left out
chain_adjusters_missing     `rear_axle`; no facts: axle_toe may be that of the adjusters
axis_not_crosswise          `axis`; label (its name): too much along the machine, left out
fork_upward_unknown         `fork_leg`; no facts: neither steering nor `up`, the fork is left out
rim_width_missing           `front_rim` or `rear_rim`; no facts: one edge alone, its wheel's middle
                            is not known
wheel_never_straight        `front_rim`; no facts: no turn about the steering axis sets it straight
face_damaged                `head_face`; tilt_deg, u_deg: over three of its own sigma
head_face_doubtful          `head_face`; tilt_deg, distance_mm (largest, off the plane), statistic,
                            limit: its points contradict a face as square as is taken for granted;
                            verdicts on what rests on it are undecided
pivot_face_doubtful         `pivot_face`; side, and the same facts
datum_bent                  `pivot`; distance_mm (largest, off the line), statistic, limit
bore_and_arc_disagree       `head_bore`; statistic, limit, angle_deg and distance_mm between the
                            two axes at the bore, twist_arc_deg, twist_bore_deg,
                            axis_distance_arc_mm, axis_distance_bore_mm: the result stands on the
                            arcs; a verdict on which the two differ is undecided
noisier_than_claimed        None; birge_ratio, statistic, limit: uncertainties grown by the ratio
pair_incomplete             `pair`; label (name of the pair), side (the one missing): left out
points_disagree             feature; label, statistic, limit: its points scatter more than claimed,
                            in a survey that is noisier than claimed; verdicts on what rests on
                            them are undecided
replicates_scatter          None; scatter_mm, degrees_of_freedom, points (how many u replaced):
                            the scatter of repeated points replaced their u
first_order_only            `steer_target`; target, ratio (u(radius)/radius); or None; needed
                            (`tilt`), tilt_deg (u of the axis's direction): verdicts undecided
by_trials                   None; trials: first order does not suffice, so that uncertainties,
                            probabilities and verdicts come from trials
steering_turned_little      `steer_target`; turned_deg, needed_deg (40: twenty to each side)
targets_stacked             `steer_target`; apart_deg, needed_deg (60): weak in reach
targets_opposite            `steer_target`; apart_deg, needed_deg (120): weak in twist
target_seen_once            `steer_target`; target: left out, it says nothing of the axis
return_without_first        feature; label: a return whose first measurement is missing, left out
orientation_not_checked     None; no facts: `up` is missing and the side view cannot tell
==========================  =======================================================================
"""

from app.chassis.result import Caveat


def faces_missing(sides: tuple[str, ...]) -> Caveat:
    return Caveat("faces_missing", "pivot_face", (("sides", ", ".join(sides)),))


def head_face_missing() -> Caveat:
    return Caveat("head_face_missing", "head_face")


def steering_missing() -> Caveat:
    return Caveat("steering_missing", "steer_target")


def probe_radius_unknown(feature: str, points: int) -> Caveat:
    return Caveat("probe_radius_unknown", feature, (("points", points),))


def temperature_unknown() -> Caveat:
    return Caveat("temperature_unknown")


def scale_temperature_unknown() -> Caveat:
    return Caveat("scale_temperature_unknown", "instrument")


def material_unknown(part: str, material: str | None) -> Caveat:
    return Caveat("material_unknown", None, (("part", part), ("material", material)))


def levelling_missing(rule: str | None, needed: str) -> Caveat:
    return Caveat("levelling_missing", None, (("rule", rule), ("needed", needed)))


def levelling_impossible(
    rule: str, distance_mm: float, nominal_mm: float, elevation_deg: float | None
) -> Caveat:
    return Caveat(
        "levelling_impossible",
        None,
        (
            ("rule", rule),
            ("distance_mm", distance_mm),
            ("nominal_mm", nominal_mm),
            ("elevation_deg", elevation_deg),
        ),
    )


def axle_ends_assumed_symmetric() -> Caveat:
    return Caveat("axle_ends_assumed_symmetric", "rear_axle")


def axle_middle_unknown() -> Caveat:
    return Caveat("axle_middle_unknown", "rear_axle")


def chain_adjusters_missing() -> Caveat:
    return Caveat("chain_adjusters_missing", "rear_axle")


def axis_not_crosswise(label: str) -> Caveat:
    return Caveat("axis_not_crosswise", "axis", (("label", label),))


def fork_upward_unknown() -> Caveat:
    return Caveat("fork_upward_unknown", "fork_leg")


def rim_width_missing(feature: str) -> Caveat:
    return Caveat("rim_width_missing", feature)


def wheel_never_straight() -> Caveat:
    return Caveat("wheel_never_straight", "front_rim")


def face_damaged(tilt_deg: float, u_deg: float) -> Caveat:
    return Caveat("face_damaged", "head_face", (("tilt_deg", tilt_deg), ("u_deg", u_deg)))


def head_face_doubtful(**facts: float) -> Caveat:
    return Caveat("head_face_doubtful", "head_face", tuple(facts.items()))


def pivot_face_doubtful(side: str, **facts: float) -> Caveat:
    return Caveat("pivot_face_doubtful", "pivot_face", (("side", side), *facts.items()))


def datum_bent(distance_mm: float, statistic: float, limit: float) -> Caveat:
    return Caveat(
        "datum_bent",
        "pivot",
        (("distance_mm", distance_mm), ("statistic", statistic), ("limit", limit)),
    )


def bore_and_arc_disagree(**facts: float) -> Caveat:
    return Caveat("bore_and_arc_disagree", "head_bore", tuple(facts.items()))


def noisier_than_claimed(birge_ratio: float, statistic: float, limit: float) -> Caveat:
    return Caveat(
        "noisier_than_claimed",
        None,
        (("birge_ratio", birge_ratio), ("statistic", statistic), ("limit", limit)),
    )


def pair_incomplete(label: str, side: str) -> Caveat:
    return Caveat("pair_incomplete", "pair", (("label", label), ("side", side)))


def points_disagree(feature: str, label: str | None, statistic: float, limit: float) -> Caveat:
    return Caveat(
        "points_disagree",
        feature,
        (("label", label), ("statistic", statistic), ("limit", limit)),
    )


def replicates_scatter(scatter_mm: float, degrees_of_freedom: float, points: int) -> Caveat:
    return Caveat(
        "replicates_scatter",
        None,
        (
            ("scatter_mm", scatter_mm),
            ("degrees_of_freedom", degrees_of_freedom),
            ("points", points),
        ),
    )


def first_order_only(target: str, ratio: float) -> Caveat:
    return Caveat("first_order_only", "steer_target", (("target", target), ("ratio", ratio)))


def first_order_only_tilt(tilt_deg: float) -> Caveat:
    return Caveat("first_order_only", None, (("needed", "tilt"), ("tilt_deg", tilt_deg)))


def by_trials(trials: int) -> Caveat:
    return Caveat("by_trials", None, (("trials", trials),))


def steering_turned_little(turned_deg: float, needed_deg: float) -> Caveat:
    return Caveat(
        "steering_turned_little",
        "steer_target",
        (("turned_deg", turned_deg), ("needed_deg", needed_deg)),
    )


def targets_stacked(apart_deg: float) -> Caveat:
    return Caveat(
        "targets_stacked", "steer_target", (("apart_deg", apart_deg), ("needed_deg", 60.0))
    )


def targets_opposite(apart_deg: float) -> Caveat:
    return Caveat(
        "targets_opposite", "steer_target", (("apart_deg", apart_deg), ("needed_deg", 120.0))
    )


def target_seen_once(target: str) -> Caveat:
    return Caveat("target_seen_once", "steer_target", (("target", target),))


def return_without_first(feature: str, label: str | None) -> Caveat:
    return Caveat("return_without_first", feature, (("label", label),))


def orientation_not_checked() -> Caveat:
    return Caveat("orientation_not_checked")
