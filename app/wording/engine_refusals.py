"""The engine's refusals in three parts. Variants of a code stand as `code:reason`."""

from app.wording.explanation import Explanation, Table
from app.wording.translation import later

TABLE: Table = {
    "axis_not_determined": Explanation(
        later("the points do not fix the steering axis"),
        later("points at three stations or more, spread round the axis, are needed"),
        later("measure the targets again at more steering positions, farther apart"),
    ),
    "axis_not_determined:counts": Explanation(
        later("{observations} coordinates stand against {unknowns} unknowns of the steering axis"),
        later("at least as many coordinates as unknowns are needed"),
        later("measure more stations, more targets, or points in the head's bearing seats"),
    ),
    "axis_not_determined:condition": Explanation(
        later(
            "the points leave the steering axis loose in one direction "
            "(reciprocal condition {reciprocal_condition})"
        ),
        later("at least {needed_condition} is needed"),
        later(
            "put the targets 60° to 120° apart round the axis and at different heights, and turn "
            "the steering further"
        ),
    ),
    "axis_not_determined:no_solution": Explanation(
        later("no steering axis fits the points"),
        later("targets that turn with the steering and keep their names are needed"),
        later("check the names of targets and stations, and measure again"),
    ),
    "axis_not_determined:no_axis": Explanation(
        later("the head face was measured, but nothing that fixes the steering axis"),
        later("steering targets at three stations, or two points in the bearing seats, are needed"),
        later("measure the steering as well, or leave the head face out"),
    ),
    "levelling_not_determined": Explanation(
        later("the machine cannot be levelled by what was measured"),
        later("points that fix the turn about the pivot axis are needed"),
        later("check the points that the levelling rule names, and measure them again"),
    ),
    "levelling_not_determined:resultant": Explanation(
        later(
            "the control points do not agree with their nominals on one turn about the pivot axis "
            "({met_ratio} of full agreement)"
        ),
        later("at least {needed_ratio} is needed to level by them"),
        later("check the names of the control points and the reference's positions"),
    ),
    "levelling_not_determined:lever": Explanation(
        later("the control points lie only {met_mm} mm from the pivot axis seen from the side"),
        later("at least {needed_mm} mm is needed to level by them"),
        later("measure control points farther from the pivot, of those that the reference gives"),
    ),
    "levelling_not_determined:distance": Explanation(
        later("the two ends of the level line lie only {met_mm} mm apart seen from the side"),
        later("at least {needed_mm} mm is needed to level by them"),
        later("check which point is rear and which front, and measure both again"),
    ),
    "points_disagree": Explanation(
        later("the points of {where} disagree far beyond their uncertainties"),
        later("points of one feature that agree are needed"),
        later("look for a wrong reading or a wrong name among them, and measure them again"),
    ),
    "levelling_not_determined:reversed": Explanation(
        later("the head lies on the side of the level line that is called rear"),
        later("a front end that lies towards the head is needed"),
        later("exchange the labels rear and front if they were mixed up, or measure both again"),
    ),
    "steering_hardly_turned": Explanation(
        later("the steering hardly turned between the stations"),
        later("a clear arc of each target is needed to see the axis"),
        later("turn the steering further to each side and measure again"),
    ),
    "steering_hardly_turned:moves": Explanation(
        later("target {target} moves only {met_mm} mm between its farthest stations"),
        later("at least {needed_mm} mm (50 times its uncertainty) is needed to see the axis"),
        later("turn the steering further to each side"),
    ),
    "steering_hardly_turned:radius_small": Explanation(
        later("target {target} stands only {met_mm} mm from the axis that fits it"),
        later("at least {needed_mm} mm is needed"),
        later("put the target farther out, and check the names of targets and stations"),
    ),
    "steering_hardly_turned:radius_large": Explanation(
        later("target {target} moves almost straight: the circle that fits is {met_mm} mm wide"),
        later("a radius of at most {needed_mm} mm is needed to see the axis"),
        later("turn the steering further to each side"),
    ),
    "steering_hardly_turned:radius_uncertain": Explanation(
        later("the radius of target {target} is known only to {met_ratio} of itself"),
        later("{needed_ratio} or better is needed to see the axis"),
        later("turn the steering further to each side, or measure more stations"),
    ),
    "steering_hardly_turned:tilt": Explanation(
        later("the direction of the steering axis is known only to {met_deg}°"),
        later("{needed_deg}° or better is needed"),
        later("turn the steering further, and put the targets farther apart in height"),
    ),
    "too_few_stations": Explanation(
        later("stations at which the steering was measured: {met}"),
        later("{needed} are needed (two suffice with two points in the bearing seats)"),
        later("measure the targets at further steering positions"),
    ),
    "too_few_points": Explanation(
        later("{where}: {met} measured"),
        later("at least {needed} are needed"),
        later("measure the missing points"),
    ),
    "too_few_points:none": Explanation(
        later("the survey holds no point"),
        later("the points of a measurement are needed"),
        later("send them with it"),
    ),
    "coincident_points": Explanation(
        later("the points of {where} lie only {distance_mm} mm apart"),
        later("at least {needed_mm} mm is needed to give a direction"),
        later("measure them farther apart, or check whether one was sent twice"),
    ),
    "left_unknown": Explanation(
        later("neither the pivot's points nor its faces say which is left"),
        later("left and right are needed to sign every offset and twist"),
        later("label the pivot's points, or its faces, left and right"),
    ),
    "unknown_target": Explanation(
        later("a target spacing names {target}"),
        later("a target of this survey is needed ({known})"),
        later("correct the name in rig, target_spacing_mm, or leave the spacing out"),
    ),
    "spacing_disagrees": Explanation(
        later(
            "targets {one} and {other} were measured {met_mm} mm apart (u {u_mm} mm), and their "
            "spacing is stated as {length_mm} mm"
        ),
        later("two lengths within five times their uncertainty are needed"),
        later(
            "correct rig, target_spacing_mm, or leave it out; if the stated length is right, check "
            "the targets' names, their seat and the instrument's scale, and measure again"
        ),
    ),
    "turn_contradicts": Explanation(
        later("station {station} is said to be turned left at one point and right at another"),
        later("one side is needed for each station"),
        later("give all points of that station the side that the steering was turned to"),
    ),
    "unknown_turn": Explanation(
        later("{where}: turn is {met}"),
        later("left or right is needed"),
        later("correct it, or leave it out"),
    ),
    "half_turn_without_rim": Explanation(
        later("{where} has the station half_turn, and is no rim"),
        later("only rims are measured again half a turn on"),
        later("take that station out, or correct the feature"),
    ),
    "offset_negative": Explanation(
        later("{where}: the offset is {offset_mm} mm"),
        later("0 or more is needed, the distance of the measured centre outside the surface"),
        later("send the probe's radius as it is"),
    ),
    "metres": Explanation(
        later("the head stands {distance} from the pivot axis, as if in metres"),
        later("millimetres are needed ({distance_mm} mm would be plausible)"),
        later("multiply all coordinates and uncertainties by 1000"),
    ),
    "inches": Explanation(
        later("the head stands {distance} from the pivot axis, as if in inches"),
        later("millimetres are needed ({distance_mm} mm would be plausible)"),
        later("multiply all coordinates and uncertainties by 25.4"),
    ),
    "centimetres": Explanation(
        later("the head stands {distance} from the pivot axis, as if in centimetres"),
        later("millimetres are needed ({distance_mm} mm would be plausible)"),
        later("multiply all coordinates and uncertainties by 10"),
    ),
    "implausible_size": Explanation(
        later("the head stands {distance_mm} mm from the pivot axis"),
        later("{lowest_mm} mm to {highest_mm} mm is needed for a motorcycle"),
        later("check the unit of the coordinates and which points were called pivot and head"),
    ),
    "left_right_or_mirrored": Explanation(
        later("the survey is turned over against its own labels"),
        later("left, right and upward that agree with each other are needed"),
        later(
            "one of three is wrong: the labels left and right are exchanged, the instrument's axes "
            "are left-handed, or `up` points the wrong way"
        ),
    ),
    "up_unusable": Explanation(
        later(
            "`up` runs almost along the pivot axis or along the machine (it agrees to {agreement})"
        ),
        later("a direction roughly upward of the machine is needed (at least {needed_agreement})"),
        later("send the direction that points upward from the machine as it stood"),
    ),
    "pair_swapped": Explanation(
        later("in {where} left lies to the right of right ({distance_mm} mm)"),
        later("left on the left is needed in every pair"),
        later("exchange the labels of this pair if they were mixed up, or measure it again"),
    ),
    "mirrored_axes": Explanation(
        later(
            "the stations turned left stand to the right of those turned right ({left_deg}° and "
            "{right_deg}° about the steering axis)"
        ),
        later("left as the rider sits is needed"),
        later(
            "if the steering was turned the other way, name these stations by the side that it was "
            "turned to; else check which axis points up, and that the instrument's axes are "
            "right-handed"
        ),
    ),
    "spacing_unusable": Explanation(
        later("the spacing of targets {one} and {other} is {length_mm} mm"),
        later("two different targets and a length above zero are needed"),
        later("correct rig, target_spacing_mm, or leave the spacing out"),
    ),
    "axes_not_crosswise": Explanation(
        later("the axis that fits the steering lies {angle_deg}° from the pivot axis"),
        later("at least {needed_deg}° is needed, as the two cross each other on a motorcycle"),
        later("check which points were called pivot and which steering"),
    ),
    "combine_too_few": Explanation(
        later("{met} measurement is there to combine"),
        later("{needed} or more are needed"),
        later("give further measurements of the same phase"),
    ),
    "combine_moved": Explanation(
        later("the set-up moved during measurement {survey}"),
        later("only measurements whose set-up stood still can be combined"),
        later("leave this one out, or measure it again"),
    ),
    "combine_differs": Explanation(
        later("measurement {survey} and the first one differ in {what}"),
        later("one phase, one reference and one levelling rule are needed for all"),
        later("combine only measurements that belong together"),
    ),
    "combine_differs:levelling": Explanation(
        later("measurement {survey} was levelled otherwise than the first"),
        later("one levelling rule is needed for all"),
        later("measure what the rule needs in each of them, or leave this one out"),
    ),
    "combine_differs:reference": Explanation(
        later("measurement {survey} was judged by another reference than the first"),
        later("one reference, with the same limits, is needed for all"),
        later("evaluate all of them by the same reference"),
    ),
    "combine_differs:phase": Explanation(
        later("measurement {survey} is of another phase than the first"),
        later("measurements of one phase are needed: the chassis must be the same in all"),
        later("combine those before and those after a correction apart"),
    ),
    "combine_same": Explanation(
        later("measurements {survey} and {other} hold the same points"),
        later("measurements that were taken each for itself are needed"),
        later("leave one of them out: what is counted twice only seems better known"),
    ),
    "combine_disagrees": Explanation(
        later(
            "the measurements contradict each other (chi-square {statistic}, limit {limit}); most "
            "in {characteristic}, where measurement {survey} lies {apart} from what all say"
        ),
        later("measurements that agree within their uncertainties are needed (at 0.1 %)"),
        later("find out which one is wrong and leave it out, or measure again"),
    ),
    "change_moved": Explanation(
        later("the set-up moved during the measurement {phase} the correction"),
        later("two measurements whose set-up stood still are needed to tell what changed"),
        later("measure again"),
    ),
    "change_differs": Explanation(
        later("the two measurements were levelled otherwise"),
        later("one levelling rule with one nominal is needed for both"),
        later("evaluate both by the same reference, with what its rule needs in each of them"),
    ),
}
