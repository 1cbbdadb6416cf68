"""The engine's warnings in words: what is so, what it does to the result, what would help."""

from app.chassis.senses import sense_code
from app.errors import Fact
from app.wording import senses
from app.wording.explanation import facts_of, spoken_facts
from app.wording.labels import feature
from app.wording.translation import _, later

WARNINGS: dict[str, str] = {
    "faces_missing": later(
        "The frame face beside the pivot is missing ({sides}): without both faces the middle is "
        "not known, so head offset and pivot width are left out."
    ),
    "head_face_missing": later(
        "The lower head face was not measured: only the twist of the head is given."
    ),
    "steering_missing": later(
        "Neither steering targets nor bearing seats were measured: nothing of the head is given."
    ),
    "probe_radius_unknown": later(
        "The probe's radius is not known on {where} ({points} points): they were taken as lying on "
        "the surface. A ball left uncorrected moves the face by its radius."
    ),
    "temperature_unknown": later(
        "The part's temperature is not stated: lengths were not brought to 20 °C."
    ),
    "scale_temperature_unknown": later(
        "The temperature of the instrument's scale is not stated: it was taken as 20 °C."
    ),
    "material_unknown": later(
        "The material of the {part} is not known ({material}): nothing of it was brought to 20 °C."
    ),
    "levelling_missing": later("What needs levelling is left out: the reference lacks {needed}."),
    "levelling_missing:rule": later(
        "What needs levelling is left out: the reference names no levelling rule."
    ),
    "levelling_missing:nominal": later(
        "What needs levelling is left out: the reference lacks the nominal that its levelling "
        "rule needs."
    ),
    "levelling_missing:head_face": later(
        "What needs levelling is left out: the lower head face was not measured."
    ),
    "levelling_missing:control": later(
        "What needs levelling is left out: none of the control points by which the reference "
        "levels was measured."
    ),
    "levelling_missing:level_line": later(
        "What needs levelling is left out: the two ends of the level line were not both measured."
    ),
    "levelling_impossible": later(
        "What needs levelling is left out: a head {distance_mm} mm from the pivot cannot be "
        "levelled to the nominal {nominal_mm}."
    ),
    "axle_ends_assumed_symmetric": later(
        "The faces of the swing arm beside the wheel were not measured: the wheel was taken to "
        "stand midway between the measured ends of the axle. Measure both faces for a sure "
        "offset."
    ),
    "axle_middle_unknown": later(
        "Where the wheel stands on the rear axle is not known, so the swing arm is left out: "
        "measure the arm's faces on both sides, or name the axle's ends left and right."
    ),
    "chain_adjusters_missing": later(
        "The positions of the chain adjusters are not stated: unequal ones turn the axle as a "
        "bent arm does."
    ),
    "axis_not_crosswise": later(
        "The axis {label} lies more along the machine than across it: its toe and twist are left "
        "out. Check its points."
    ),
    "fork_upward_unknown": later(
        "Which end of the fork is up is not known, so the fork is left out: measure the steering, "
        "or say in the survey which way is up."
    ),
    "rim_width_missing": later(
        "Only one edge of the {where} was measured and the reference gives no width of it: the "
        "middle of that wheel is not known, and what rests on it is left out."
    ),
    "wheel_never_straight": later(
        "The front wheel cannot be set straight by turning the steering: lean and track of the "
        "wheels are left out. Check the points on the front rim."
    ),
    "face_damaged": later(
        "The lower head face is {tilt_deg}° out of square to the steering axis (its uncertainty is "
        "{u_deg}°): it may be damaged, and with it the position of the head."
    ),
    "head_face_doubtful": later(
        "The points of the lower head face lie up to {distance_mm} mm off any face that is square "
        "to the steering axis: one of them may be wrong, or the face is damaged. What rests on "
        "that face is undecided. Clean it and measure it again, at four points or more."
    ),
    "pivot_face_doubtful": later(
        "The points of the frame's {side} face beside the pivot lie up to {distance_mm} mm off any "
        "face that is square to the pivot axis: one of them may be wrong, or the face is damaged. "
        "What rests on that face is undecided. Clean it and measure it again."
    ),
    "datum_bent": later(
        "The pivot's points do not lie on one line (by up to {distance_mm} mm): the pivot itself "
        "may be bent, and every finding rests on it."
    ),
    "bore_and_arc_disagree": later(
        "The bearing seats and the targets' arcs give different steering axes, {angle_deg}° and "
        "{distance_mm} mm apart: a seat may be damaged, or a bar was not seated. By the arcs: "
        "twist {twist_arc}, axis {axis_distance_arc_mm} mm from the pivot; by the seats: twist "
        "{twist_bore}, axis {axis_distance_bore_mm} mm from the pivot. The result stands on the "
        "arcs; what the two judge differently is undecided."
    ),
    "noisier_than_claimed": later(
        "The points scatter {birge_ratio} times as much as their uncertainties say: all "
        "uncertainties were made larger to match."
    ),
    "pair_incomplete": later(
        "Of the pair {label} the {side} side was not measured: nothing is computed from the other."
    ),
    "points_disagree": later(
        "The points of {where} {label} disagree by more than their uncertainties allow: one of "
        "them may be wrong or stand under another name. Nothing is decided by them; measure them "
        "again."
    ),
    "replicates_scatter": later(
        "Repeated points scatter by {scatter_mm} mm, more than their uncertainties say: the "
        "scatter took their place at {points} points."
    ),
    "first_order_only": later(
        "The radius of target {target} is known only to {ratio} of itself, too little for this "
        "calculation of uncertainty: every verdict is undecided. Turn the steering further."
    ),
    "first_order_only:tilt": later(
        "The direction of the steering axis is known only to {tilt_deg}°, too little for this "
        "calculation of uncertainty: every verdict on the head is undecided. Measure points in "
        "both bearing seats, far apart, or turn the steering further."
    ),
    "by_trials": later(
        "The steering axis is known so little that uncertainties do not simply add up: they, the "
        "probabilities and the findings come from {trials} simulated measurements (Monte Carlo)."
    ),
    "steering_turned_little": later(
        "The steering was turned by {turned_deg}° in all; {needed_deg}° (half to each side) make "
        "the result much surer."
    ),
    "targets_stacked": later(
        "The targets stand only {apart_deg}° apart round the steering axis, less than "
        "{needed_deg}°: weak in reach."
    ),
    "targets_opposite": later(
        "The targets stand {apart_deg}° apart round the steering axis, more than {needed_deg}°: "
        "weak in twist."
    ),
    "target_seen_once": later(
        "Target {target} was measured at one station only: it says nothing of the axis and was "
        "left out."
    ),
    "return_without_first": later(
        "{where} was measured again but never a first time ({label}): the repeat was left out."
    ),
    "orientation_not_checked": later(
        "Left, right and upward could not be checked: say in the survey which way is up. A "
        "certificate needs that."
    ),
}


def message(code: str, name: str | None, facts: dict[str, Fact]) -> str:
    """Return the sentence of a warning; `name` is the feature it speaks of."""
    text = WARNINGS.get(f"{code}:{facts.get('needed')}") or WARNINGS.get(code, later("{code}"))
    spoken = spoken_facts({**facts_of("", facts), "code": code})
    spoken["where"] = feature(name) if name else spoken["where"]
    for name in ("twist_arc", "twist_bore"):
        spoken[name] = _twist(facts.get(f"{name}_deg"))
    spoken["features"] = ", ".join(map(feature, str(facts.get("features", "")).split(", ")))
    return _(text).format_map(spoken)


def _twist(degrees: Fact) -> str:
    """Return a twist with its sense, never a minus sign."""
    if not isinstance(degrees, int | float):
        return ""
    return senses.sentence(sense_code("head_twist", degrees, None), degrees, "deg", 2, None)
