"""What the floor cannot do, in three parts."""

from app.wording.explanation import Explanation, Table
from app.wording.translation import later

TABLE: Table = {
    "no_such_step": Explanation(
        later("this measurement has no step {met}"),
        later("one of its own steps is needed"),
        later("choose it from the overview of all steps"),
    ),
    "draft_paused": Explanation(
        later("this measurement rests"),
        later(
            "one that was taken up again is needed: the datum (the pivot axis and a face beside "
            "it) is measured again first"
        ),
        later("take it up again, then go on measuring"),
    ),
    "pause_too_long": Explanation(
        later("this measurement has rested for {met} minutes"),
        later("less than {limit} is needed for anybody to say that nothing was touched"),
        later("take it up again, and measure the pivot axis and a face beside it once more"),
    ),
    "step_takes_no_points": Explanation(
        later("nothing is measured at this step"),
        later("a step that asks for points is needed"),
        later("go on to the next step"),
    ),
    "step_takes_points": Explanation(
        later("this step asks for points"),
        later("readings are needed"),
        later("measure its points"),
    ),
    "step_answered_elsewhere": Explanation(
        later("the visual check is not done by going on"),
        later("an answer for each of its items is needed"),
        later("open the visual check and answer what is still open"),
    ),
    "step_complete": Explanation(
        later("every target of this station is measured ({names})"),
        later("the name of the one that is measured again is needed"),
        later("choose the target, or go on to the next step"),
    ),
    "no_live_step": Explanation(
        later("an instrument sent a point, but no tablet waits for one"),
        later("a step that waits for the instrument is needed"),
        later("open the step on the tablet and let it wait for the instrument, then measure again"),
    ),
    "noticed_unanswered": Explanation(
        later("something was noticed about this measurement: {noticed}"),
        later("it must be put right, or submitted by somebody who has read it"),
        later("put it right first, or say that it is submitted all the same"),
    ),
    "heading_changed": Explanation(
        later("somebody else changed {where} meanwhile"),
        later("what stands now must be seen first"),
        later("look at what stands there now, and change it again if it is still wrong"),
    ),
    "request_key_unusable": Explanation(
        later("the key of the request has {met} characters"),
        later("1 to {limit} plain letters and digits are needed"),
        later("send it with a key of its own"),
    ),
    "request_key_reused": Explanation(
        later("something else was sent under the same key before"),
        later("a key of its own for each request is needed"),
        later("load the page again, look whether it was stored, and send it once more if not"),
    ),
}
