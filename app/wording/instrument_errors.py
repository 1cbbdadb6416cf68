"""What stands against an instrument's own record, a gauge study, or a reference from machines."""

from app.wording.explanation import Explanation, Table
from app.wording.translation import later

TABLE: Table = {
    "turn_not_stated": Explanation(
        later("no station of a target is marked as turned left beside others that are not"),
        later("stations with the steering known to be left, and others, are needed"),
        later("mark the stations to the left of straight ahead with turn left"),
    ),
    "turned_too_little": Explanation(
        later("the stations turned left stand only {met_deg}° from the others"),
        later("at least {needed_deg}° is needed to tell left from right"),
        later("turn the steering further to the left and measure again"),
    ),
    "targets_turn_apart": Explanation(
        later("one target turns to the left where another one turns to the right"),
        later("targets that turn together are needed"),
        later("check the names of targets and stations, and measure again"),
    ),
    "check_bar_out_of_control": Explanation(
        later("the instrument {instrument} is out of control: {readings}"),
        later("every such reading must be explained before anything is certified with it"),
        later("find the cause, write it down beside the reading, and measure the bar again"),
    ),
    "instrument_left_handed": Explanation(
        later("the check of {checked} showed that the axes of {instrument} are left-handed"),
        later("right-handed axes are needed, or stations turned to both sides in the measurement"),
        later("put its axes right, check them with a turn to the left, and measure again"),
    ),
    "no_such_check_bar": Explanation(
        later("this shop has no such check bar"),
        later("a check bar that is on record is needed"),
        later("choose it from the list"),
    ),
    "no_such_reading": Explanation(
        later("this instrument has no such reading of the check bar"),
        later("a reading that is on record is needed"),
        later("choose it from the list"),
    ),
    "no_such_gauge_study": Explanation(
        later("this instrument has no such gauge study"),
        later("a study that is on record is needed"),
        later("choose it from the list"),
    ),
    "check_bar_known": Explanation(
        later("the calibration of {met} of {calibrated} is on record already"),
        later("each calibration of a bar once is needed"),
        later("choose it from the list"),
    ),
    "check_bar_out_of_calibration": Explanation(
        later("the length of {met} was known from {calibrated} to {due}, not on that day"),
        later("a bar in calibration is needed"),
        later("have it calibrated and record that, or take another bar"),
    ),
    "reading_in_control": Explanation(
        later("this reading is in control"),
        later("only one that is out of control needs an explanation"),
        later("look at the log"),
    ),
    "reading_explained": Explanation(
        later("this reading was explained already"),
        later("one explanation is kept for each reading"),
        later("look at the log"),
    ),
    "other_instrument": Explanation(
        later("{where} is {met}"),
        later("the record of {needed} was chosen"),
        later("choose the record of the right instrument"),
    ),
    "not_a_check_bar_log": Explanation(
        later("this is no log of a check bar ({where} is {met})"),
        later('JSON with "format": "jigbook.check_bar/1", bar and readings is needed'),
        later("check that the right file was chosen"),
    ),
    "not_a_gauge_study": Explanation(
        later("this is no gauge study ({where} is {met})"),
        later('JSON with "format": "jigbook.gauge_study/1", or CSV, is needed'),
        later("check that the right file was chosen"),
    ),
    "gauge_study_size:part": Explanation(
        later("the study has {met} parts"),
        later("{lowest} to {highest} are needed"),
        later("add or take out parts"),
    ),
    "gauge_study_size:person": Explanation(
        later("the study has {met} people"),
        later("{lowest} to {highest} are needed"),
        later("add or take out people"),
    ),
    "gauge_study_size:trial": Explanation(
        later("the study has {met} trials"),
        later("{lowest} to {highest} are needed: one alone shows no scatter"),
        later("let each person measure each part again"),
    ),
    "gauge_study_size": Explanation(
        later("the study has {met} of one kind"),
        later("{lowest} to {highest} are needed"),
        later("add or take out readings"),
    ),
    "gauge_reading_twice": Explanation(
        later("part {part}, person {person}, trial {trial} stands there twice"),
        later("each once is needed"),
        later("number the trials, or take one of the two out"),
    ),
    "gauge_reading_missing": Explanation(
        later("part {part}, person {person}, trial {trial} is missing"),
        later("every person must have measured every part in every trial"),
        later("measure it, or leave that part, person or trial out altogether"),
    ),
    "column_missing:gauge_study": Explanation(
        later("the header lacks {missing}"),
        later("part,person,trial,value is needed"),
        later("add the missing columns"),
    ),
    "too_many_rows:gauge_study": Explanation(
        later("there are {met} rows"),
        later("at most {limit} are taken"),
        later("send one study alone"),
    ),
    "no_rows:gauge_study": Explanation(
        later("there is a header but no row below it"),
        later("one row for each reading is needed"),
        later("add the rows"),
    ),
    "too_few_machines": Explanation(
        later("{met} machines count for the reference"),
        later("at least {needed} are needed, and 10 or more are better"),
        later("measure more machines that are in order"),
    ),
    "too_many_left_out": Explanation(
        later("{met} machines are left out"),
        later("at most {limit} can be, for each is told with its reason"),
        later("do not hand those in that have nothing to do with it"),
    ),
    "machine_named_twice": Explanation(
        later("two machines are called {met}"),
        later("each name once is needed"),
        later("give the machines different names"),
    ),
    "survey_twice": Explanation(
        later("the points of {machine} are those of {other}"),
        later("a measurement of each machine of its own is needed"),
        later("take one of the two out"),
    ),
    "machine_twice": Explanation(
        later("{met} and {other} are measurements of one machine"),
        later("each machine once is needed, else it counts twice"),
        later("take one of the two out"),
    ),
    "set_up_moved_on": Explanation(
        later("the set-up moved while {machine} was measured"),
        later("steady measurements are needed for a reference"),
        later("measure it again, or leave it out with the reason"),
    ),
    "machine_refused": Explanation(
        later("the measurement of {machine} is refused: {words}"),
        later("a measurement that can be evaluated is needed of each machine"),
        later("measure it again, or leave it out with the reason"),
    ),
    "no_such_exclusion": Explanation(
        later("{met} is to be left out, but is not among the surveys"),
        later("the name of one of them is needed"),
        later("check the name"),
    ),
    "exclusion_without_reason": Explanation(
        later("{met} is to be left out without a reason"),
        later("the reason stands in the reference"),
        later("write it behind the name: --leave-out FILE=REASON"),
    ),
}
