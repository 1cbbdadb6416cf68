"""What the desk has to add before a call is noted or a machine is handed over, in three parts."""

from app.wording.explanation import Explanation, Table
from app.wording.translation import later

TABLE: Table = {
    "said_missing": Explanation(
        later("nothing says what came of the call"),
        later("what was said is needed where somebody was reached"),
        later("write it in a few words"),
    ),
    "new_day_missing": Explanation(
        later("the machine was promised for {met}, which is past"),
        later("the day that was promised in the call is needed"),
        later("choose the new day, or that it stays as it is"),
    ),
    "new_day_or_stands": Explanation(
        later("a new day is given, and that the promised day stays as it is"),
        later("one of the two is needed"),
        later("leave one of them out"),
    ),
    "not_kilometres": Explanation(
        later("{where} is {met}"),
        later("whole kilometres are needed"),
        later("type the figures alone, such as 12500 or 12 500, and leave tenths out"),
    ),
    "still_here_or_not": Explanation(
        later("nothing says where the machine is"),
        later("whether it stands here or has left is needed"),
        later("choose one of the two"),
    ),
    "left_behind": Explanation(
        later("not ticked as given back: {met}"),
        later("all that was left with the machine is given back, or why it stays is needed"),
        later("give it back and tick it, or write why it stays here"),
    ),
    "not_handed_over": Explanation(
        later("the machine of job {job} was not handed over yet"),
        later("the receipt tells what was given back"),
        later("hand it over first"),
    ),
    "nothing_looked_at": Explanation(
        later("nobody has looked at this machine yet"),
        later("a second look comes after a first one"),
        later("answer the items one by one"),
    ),
    "not_told": Explanation(
        later("the machine leaves with something open"),
        later("whoever fetches it has to know that"),
        later("tell them what stands here, and tick that they were told"),
    ),
}
