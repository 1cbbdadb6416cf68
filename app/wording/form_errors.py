"""What is wrong with a form as it was typed or sent, and what its fields are called."""

from app.wording.explanation import Explanation, Table
from app.wording.translation import _, later

TABLE: Table = {
    "time_zone_unknown": Explanation(
        later("no time zone is called {met}"),
        later("the name of one is needed, as region and town"),
        later("write it such as Europe/Lisbon or America/Denver, or UTC"),
    ),
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
    "answer_empty": Explanation(
        later("{where} is empty"),
        later("a text is needed"),
        later("fill it in"),
    ),
    "number_empty": Explanation(
        later("{where} is empty"),
        later("a number is needed"),
        later("type it"),
    ),
    "row_of_another_step": Explanation(
        later("{where} is of {met}"),
        later("rows of {needed} are needed at this step"),
        later("take the row out, or send it at the step that it belongs to"),
    ),
    "seen_without_note": Explanation(
        later("{item}: seen, and nothing says where and what"),
        later("a place, a note or a photo is needed"),
        later("choose where, say what, or take a photo, and save it again"),
    ),
    "seen_before": Explanation(
        later("on record as seen: {item}"),
        later("what became of it is needed before it is answered otherwise"),
        later("say whether it was replaced, repaired or no damage, what was done and by whom"),
    ),
    "seen_all_the_same": Explanation(
        later("{item}: answered as seen, and as replaced, repaired or no damage"),
        later("one of the two is needed"),
        later("answer that nothing is seen now, or leave out what was done since"),
    ),
}

FIELDS: dict[str, str] = {
    "customer": later("the customer's name"),
    "customer.name": later("the customer's name"),
    "machine": later("the machine's make, model and frame number"),
    "machine.make": later("the machine's make"),
    "machine.model": later("the machine's model"),
    "machine.frame_number": later("the frame number"),
    "machine.year": later("the year of the machine"),
    "odometer_km": later("Odometer"),
    "incident.happened_on": later("the day on which it happened"),
    "incident.clock_direction": later("where the impact came from"),
    "agreed_by": later("who agreed to the correction"),
    "authorised_scope": later("what is ordered, in words,"),
    "promised_on": later("the day it is promised for"),
    "text": later("What was done"),
    "done_on": later("The day of the work"),
    "done_by": later("Who did the work"),
    "instruction": later("The maker's instruction"),
    "part": later("The part"),
    "method": later("The method"),
    "readings.0.x": later("X"),
    "readings.0.y": later("Y"),
    "readings.0.z": later("Z"),
    "readings.0.u": later("Standard uncertainty"),
    "readings.0.offset": later("Probe radius"),
    "spacing": later("Distance"),
    "spacing_u": later("Its standard uncertainty"),
    "part_temperature_c": later("Temperature of the part"),
    "chain_adjusters.left": later("Left"),
    "chain_adjusters.right": later("Right"),
    "fork_runout_mm.left": later("Left"),
    "fork_runout_mm.right": later("Right"),
    "tablet_name": later("the tablet's name"),
    "time_zone": later("the time zone"),
    "signature_box": later("the lines of the visible signature"),
    "document": later("what the certificate draws"),
    "handed_over_to": later("the name of who takes the machine"),
}
"""How a page calls the field that a schema calls by its key."""


def field(name: str) -> str:
    """Return the label of a form's field; a field without one keeps its name."""
    return _(FIELDS[name]) if name in FIELDS else name
