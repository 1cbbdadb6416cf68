"""What is wrong with a point, a reference or a frame number, in three parts."""

from app.wording.explanation import Explanation, Table
from app.wording.translation import later

POINTS: Table = {
    "unknown_feature": Explanation(
        later("{where} names the feature “{feature}”"),
        later("one of the known features is needed, such as pivot, steer_target or head_face"),
        later("correct its name"),
    ),
    "no_uncertainty": Explanation(
        later("{where} states no uncertainty, and neither does the instrument"),
        later("a standard uncertainty in mm is needed for every point"),
        later("add u to the points, or standard_uncertainty_mm to the instrument"),
    ),
    "no_uncertainty:not_positive": Explanation(
        later("{where} has an uncertainty that is not above zero"),
        later("a standard uncertainty in mm above zero is needed"),
        later("send what the instrument's calibration says"),
    ),
    "no_uncertainty:not_definite": Explanation(
        later("the covariance of {where} belongs to no real scatter (it is not positive definite)"),
        later("xx, xy, xz, yy, yz, zz of a positive definite matrix are needed"),
        later("check the order of the six numbers"),
    ),
    "offset_without_normal": Explanation(
        later("{where} carries an offset, but its feature has no surface to move it to"),
        later("an offset is taken on head_face, pivot_face, axle_face and rims alone"),
        later("leave the offset out"),
    ),
    "wrong_label": Explanation(
        later("{where} is {met} on {feature}"),
        later("one of these is needed: {allowed}"),
        later("correct the label"),
    ),
    "label_missing": Explanation(
        later("{where} has no label"),
        later("a label is needed to tell which one was measured"),
        later("add the label"),
    ),
    "pair_without_side": Explanation(
        later("{where} is {met}"),
        later("a pair's label ends in .left or .right, such as tail.left"),
        later("add the side"),
    ),
    "station_missing": Explanation(
        later("{where} is a steering target without a station"),
        later("the name of the steering position is needed"),
        later("add the station"),
    ),
    "turn_without_steering": Explanation(
        later("{where} says which way the steering was turned, but it is no steering target"),
        later("turn is taken on steer_target alone"),
        later("leave it out"),
    ),
    "too_many_further": Explanation(
        later("{met} points beyond the steering head"),
        later("at most {limit} are needed for any characteristic"),
        later("send fewer points of each feature"),
    ),
    "too_many_stations": Explanation(
        later("the steering targets were measured at {met} stations"),
        later("at most {limit} stations of the steering are taken"),
        later("give each position of the steering one name, or leave stations out"),
    ),
    "too_many_targets": Explanation(
        later("the survey names {met} steering targets"),
        later("at most {limit} are taken"),
        later("give each target one name, or leave targets out"),
    ),
    "up_without_direction": Explanation(
        later("`up` is {length} long"),
        later("a direction at least {limit} long is needed"),
        later("send for instance 0, 0, 1 when the instrument's third axis points upward"),
    ),
}

REFERENCES: Table = {
    "unknown_characteristic": Explanation(
        later("the reference lists {met}"),
        later("a known characteristic is needed, such as head_twist or pair_roll.tail"),
        later("correct its name or remove it"),
    ),
    "limits_crossed": Explanation(
        later("{where}: the lower limit {lower} is above the upper limit {upper}"),
        later("allowed deviations from the lower to the upper one are needed"),
        later("exchange them, or correct their signs"),
    ),
    "limit_without_nominal": Explanation(
        later("{key} has a limit but no nominal"),
        later("limits are deviations from a nominal"),
        later("add the nominal"),
    ),
    "control_point_missing": Explanation(
        later("{key} speaks of a control point that control_points does not list"),
        later("its nominal position is needed"),
        later("add it to control_points, or correct the name"),
    ),
    "control_nominal": Explanation(
        later("{key} has a nominal of its own"),
        later("the nominal of a control point stands in control_points"),
        later("leave it out here"),
    ),
    "tolerance_on_levelled": Explanation(
        later("{key} has limits or is required, and {levelling} makes it equal to its nominal"),
        later("what levelling sets would always be within and say nothing"),
        later("take the limits and required out, or level by another rule"),
    ),
    "control_needs_own_levelling": Explanation(
        later("{key} is to be judged, and the reference levels {levelling}, by the head"),
        later("control points seen from the side need levelling that does not rest on the head"),
        later("level by_control or by_line, or set required to false without limits"),
    ),
    "expansion_missing": Explanation(
        later("{part} is made of {met}, whose expansion is not known"),
        later("steel, aluminium, or its own expansion_per_k is needed"),
        later("add expansion_per_k for this part"),
    ),
}

FRAME_NUMBERS: Table = {
    "frame_number_length": Explanation(
        later("the frame number has {met} characters"),
        later("{shortest} to {longest} are taken"),
        later("read it from the frame again"),
    ),
    "frame_number_letter": Explanation(
        later("the frame number holds {met}, place {places}"),
        later("I, O and Q are not used in numbers of 17 characters (ISO 3779)"),
        later("read it again: what looks like I is 1, what looks like O or Q is 0"),
    ),
    "frame_number_character": Explanation(
        later("the frame number holds {met}, place {places}"),
        later("letters A to Z and digits alone are taken"),
        later("read it from the frame again"),
    ),
    "frame_number_not_17": Explanation(
        later("the frame number has {met} characters"),
        later("17 are usual; older machines and some markets have other lengths"),
        later("compare it with the frame and the papers"),
    ),
    "frame_number_check_digit": Explanation(
        later("position 9 of the frame number is {met}"),
        later("{needed} belongs there in numbers of North American machines"),
        later("compare it with the frame and the papers; it is kept as it was typed"),
    ),
}

TABLE: Table = {**POINTS, **REFERENCES, **FRAME_NUMBERS}
