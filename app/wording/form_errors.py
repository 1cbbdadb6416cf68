"""What is wrong with a form as it was typed or sent, in three parts."""

from app.wording.explanation import Explanation, Table
from app.wording.translation import later

TABLE: Table = {
    "could_be_thousands": Explanation(
        later("{where} is {met}, which can be read in two ways"),
        later("a number that can be read in one way is needed"),
        later("write a point for the comma, or leave the thousands mark out"),
    ),
    "too_many_decimals": Explanation(
        later("{where} is {met}"),
        later("at most {limit} decimals are taken"),
        later("round it to a thousandth of a millimetre"),
    ),
    "control_character": Explanation(
        later("{where} holds a character that cannot be printed, at place {position}"),
        later("text that can be printed is needed"),
        later("type it again"),
    ),
    "field_name_unusable": Explanation(
        later("the form has a field called {met}"),
        later("the fields of our own pages are needed"),
        later("load the page again and repeat the entry"),
    ),
}
