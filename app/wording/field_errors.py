"""What is wrong with one field of what was sent, in three parts."""

from app.wording.explanation import Explanation, Table
from app.wording.translation import later

TABLE: Table = {
    "missing": Explanation(
        later("{where} is missing"),
        later("it is needed"),
        later("add it"),
    ),
    "unknown_key": Explanation(
        later("{where} is no known key"),
        later("only the keys of the format are taken"),
        later("correct its name or remove it"),
    ),
    "wrong_type": Explanation(
        later("{where} is {met}"),
        later("{needed} is needed"),
        later("correct it"),
    ),
    "wrong_value": Explanation(
        later("{where} is {met}"),
        later("a value as the format describes it is needed"),
        later("correct it"),
    ),
    "not_finite": Explanation(
        later("{where} is no finite number"),
        later("a finite number is needed"),
        later("measure or enter it again; leave it out where it is unknown"),
    ),
    "too_small": Explanation(
        later("{where} is {met}"),
        later("at least {limit} is needed"),
        later("correct it, and check its unit"),
    ),
    "too_small:past": Explanation(
        later("{where} is {met}"),
        later("more than {limit} is needed"),
        later("correct it, and check its unit"),
    ),
    "too_large": Explanation(
        later("{where} is {met}"),
        later("at most {limit} is taken"),
        later("correct it, and check its unit"),
    ),
    "too_large:past": Explanation(
        later("{where} is {met}"),
        later("less than {limit} is needed"),
        later("correct it, and check its unit"),
    ),
    "too_small:bare": Explanation(
        later("{where} is {met}"),
        later("at least {limit} is needed"),
        later("correct it"),
    ),
    "too_large:bare": Explanation(
        later("{where} is {met}"),
        later("at most {limit} is taken"),
        later("correct it"),
    ),
    "year_out_of_range": Explanation(
        later("{where} lies in the year {met}"),
        later("a year from {earliest} to {latest} is needed"),
        later("correct it"),
    ),
    "nested_too_deep": Explanation(
        later("{where} holds lists or objects that lie too deep in one another"),
        later("at most {limit} levels are taken"),
        later("send what the description of the interface asks for"),
    ),
    "too_many": Explanation(
        later("{where} has {met} entries"),
        later("at most {limit} are taken"),
        later("send fewer"),
    ),
    "too_few": Explanation(
        later("{where} has too few entries"),
        later("at least {limit} is needed"),
        later("add what is missing"),
    ),
    "text_empty": Explanation(
        later("{where} is empty"),
        later("a text is needed"),
        later("fill it in"),
    ),
    "text_too_long": Explanation(
        later("{where} is longer than it may be"),
        later("at most {limit} characters are taken"),
        later("shorten it"),
    ),
    "not_text": Explanation(
        later("{where} holds characters that are no text"),
        later("Unicode text is needed"),
        later("type it again"),
    ),
    "not_printable": Explanation(
        later("{where} holds a control character"),
        later("printable characters alone are taken"),
        later("type it again instead of pasting it"),
    ),
    "not_a_name": Explanation(
        later("{where} is {met}"),
        later("a name of small letters a to z, digits and _ is needed"),
        later("rename it"),
    ),
    "not_one_of": Explanation(
        later("{where} is {met}"),
        later("one of these is needed: {allowed}"),
        later("choose one of them"),
    ),
    "not_a_day": Explanation(
        later("{where} is {met}"),
        later("a day such as 2026-03-02 is needed"),
        later("correct it"),
    ),
    "not_a_moment": Explanation(
        later("{where} is {met}"),
        later("a time such as 2026-03-02T09:40:00+01:00 is needed"),
        later("correct it"),
    ),
    "time_without_zone": Explanation(
        later("{where} does not say its distance from UTC"),
        later("a time such as 2026-03-02T09:40:00+01:00 is needed"),
        later("add Z or the distance from UTC"),
    ),
    "due_before_calibrated": Explanation(
        later("the calibration of {calibrated} is due on {due}, before it was made"),
        later("a due day after the day of the calibration is needed"),
        later("correct one of the two days"),
    ),
}
