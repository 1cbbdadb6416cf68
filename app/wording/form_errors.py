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
    "row_of_another_station": Explanation(
        later("{where} is of station {met}"),
        later("rows of one station are needed at this step, and the first is of {needed}"),
        later("take the row out, or send it at the step of its station"),
    ),
    "row_of_a_return": Explanation(
        later("{where} was measured again (station {met})"),
        later("what is measured the first time is needed at this step"),
        later("send the row at the step that measures this again"),
    ),
    "row_unclear": Explanation(
        later("{where} has {met} cells, and no first line that names them"),
        later(
            "X Y Z are needed, a name before or an uncertainty after them, or the columns "
            "feature, label, station, x, y, z, u of a Jigbook table"
        ),
        later("take the other cells out, or paste the line with the columns' names above the rows"),
    ),
    "rows_of_other_steps": Explanation(
        later("{others} of these {met} rows belong to other steps; the first are named here"),
        later("rows of {needed} alone are needed at this step"),
        later(
            "send a file that holds several steps under “All points”, or take those rows out here"
        ),
    ),
    "rows_wrong": Explanation(
        later("these rows cannot be read in {met} places; the first three are named here"),
        later("one point a row is needed, with X, Y and Z as numbers"),
        later("correct them; if the first three look alike, the rest is mostly the same"),
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
    "machine": later("the machine (make, model and frame number)"),
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
    "despite_noticed": later("that what was noticed was read"),
    "up": later("which axis points up"),
    "up.x": later("X of the direction that is up"),
    "up.y": later("Y of the direction that is up"),
    "up.z": later("Z of the direction that is up"),
    "tablet_name": later("the tablet's name"),
    "time_zone": later("the time zone"),
    "signature_box": later("the lines of the visible signature"),
    "document": later("what the certificate draws"),
    "handed_over_to": later("the name of who takes the machine"),
    "still_here": later("where the machine is"),
    "kept_because": later("why something stays here"),
    "told": later("what was told to whoever fetches the machine"),
    "about": later("what the photo shows"),
    "address": later("the address"),
    "authority_too": later("whether the authority is renewed"),
    "because": later("the reason"),
    "calibration.calibrated": later("the day of the calibration"),
    "calibration.document_number": later("the number of the calibration's document"),
    "calibration.due": later("the day on which it is due"),
    "calibration.laboratory": later("the laboratory"),
    "calibration.note": later("the note on the calibration"),
    "call": later("who is to be called"),
    "caption": later("the caption"),
    "claim_link_days": later("the number of days"),
    "code": later("the code"),
    "days": later("the number of days"),
    "digest": later("the noted digest"),
    "current_password": later("the one-time password"),
    "email": later("the mail address"),
    "file_password": later("the password of the file"),
    "if_unreachable": later("what happens when the service cannot be reached"),
    "key_password": later("the password of the signing key"),
    "kind": later("the kind"),
    "measurer_may_sign": later("whether who measured may sign"),
    "mounting": later("what it stands on"),
    "name": later("the name"),
    "new_password": later("the new password"),
    "new_password_again": later("the new password, typed again,"),
    "note": later("the note"),
    "number": later("the number"),
    "old_password": later("the present password of the key"),
    "opinion": later("the opinion"),
    "own_statement": later("the shop's own statement"),
    "password": later("the password"),
    "phase": later("when in the repair this measurement is taken"),
    "phone": later("the telephone number"),
    "pin": later("the PIN"),
    "pin_again": later("the PIN, typed again,"),
    "points.0.feature": later("what is measured"),
    "points.0.label": later("the label"),
    "points.0.station": later("the station"),
    "points.0.turn": later("which way the steering is turned"),
    "privacy_notice": later("the notice on personal data"),
    "purpose": later("what the customer signs for"),
    "readings.0.name": later("the name of the point"),
    "reason": later("the reason"),
    "replaces": later("the certificate whose place is taken"),
    "role": later("the role"),
    "roles": later("the roles"),
    "serial_number": later("the serial number"),
    "sign_in_name": later("the name for signing in"),
    "signer": later("the key"),
    "since": later("the moment from which the key is not trusted"),
    "since_seen": later("what became of it"),
    "since_words": later("what was done, and by whom,"),
    "supersedes": later("the measurement whose place is taken"),
    "table": later("the table"),
    "time_stamp_address": later("the address of the service"),
    "title": later("the title under the name"),
    "valid_days": later("the number of days"),
    "way": later("how it was given"),
    "words": later("the text"),
}
"""How a page calls the field that a schema calls by its key."""


def field(name: str) -> str:
    """Return the label of a form's field; a field without one keeps its name."""
    of_rows, _dot, rest = name.partition(".")
    if of_rows == "rows" and rest[:1].isdigit():
        line, _dot, column = rest.partition(".")
        row = _("row {number}").format(number=line)
        return f"{row}, {column.upper()}" if column else row
    return _(FIELDS[name]) if name in FIELDS else name
