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
}
