"""What the event log tells, in words: what happened, by whom, and whether the log is whole."""

from collections.abc import Mapping

from app.wording.translation import _, later

EVENTS: dict[str, str] = {
    "certificate.issued": later("Certificate issued"),
    "certificate.reserved": later("Number of a certificate taken, to be signed"),
    "certificate.resumed": later("Signing taken up again"),
    "certificate.superseded": later("Certificate replaced by another"),
    "certificate.voided": later("Certificate void: it was never issued"),
    "certificate.waits": later("Signing came to a stop"),
    "certificate.withdrawn": later("Certificate withdrawn"),
    "check_bar.calibrated": later("Calibration of a check bar entered"),
    "claim_link.created": later("Link to a claim made"),
    "claim_link.revoked": later("Link to a claim revoked"),
    "customer.changed": later("What is on record of a customer changed"),
    "customer.created": later("Customer added"),
    "customer.erased": later("Customer's personal values erased"),
    "customer.erasure_asked": later("Customer asked to be erased"),
    "customer.erasure_not_asked": later("Customer's wish to be erased taken back"),
    "customer.told": later("What is kept was given to the customer"),
    "draft.discarded": later("Measurement in progress discarded"),
    "draft.heading_set": later("Circumstances of a measurement entered"),
    "draft.live_step_set": later("Step chosen for points that an instrument sends"),
    "draft.opened": later("Measurement begun"),
    "draft.paused": later("Measurement paused"),
    "draft.point_undone": later("Point taken back"),
    "draft.points_added": later("Points taken"),
    "draft.replacing_set": later("Told which measurement this one replaces"),
    "draft.restarted": later("Points put away, because the set-up had moved"),
    "draft.resumed": later("Measurement taken up again"),
    "draft.step_recorded": later("Step without points answered"),
    "draft.submitted_despite": later("Submitted with what was noticed still open"),
    "hold.closed": later("Hold closed"),
    "hold.opened": later("Hold opened"),
    "instrument.calibrated": later("Calibration of an instrument entered"),
    "instrument.changed": later("Instrument changed on record"),
    "instrument.check_bar_explained": later("Check-bar reading out of control explained"),
    "instrument.check_bar_measured": later("Check bar measured"),
    "instrument.created": later("Instrument added"),
    "instrument.gauge_studied": later("Gauge study recorded"),
    "instrument.handedness_checked": later("Handedness of the axes checked"),
    "instrument.retired": later("Instrument taken out of use"),
    "insurer.changed": later("What is on record of an insurer changed"),
    "insurer.created": later("Insurer added"),
    "job.answered": later("Inspector's question answered"),
    "job.call_wanted": later("Call asked for"),
    "job.called": later("Call noted"),
    "job.cancelled": later("Job cancelled"),
    "job.check_in_changed": later("Check-in changed"),
    "job.checked_in": later("Machine checked in"),
    "job.correction_noted": later("Correction noted"),
    "job.correction_put_right": later("Note of a correction put right"),
    "job.handed_over": later("Machine handed over"),
    "job.instrument_chosen": later("Instrument chosen"),
    "job.machine_put_right": later("What the machine is, put right"),
    "job.noted": later("Note written"),
    "job.reference_fixed": later("Reference chosen"),
    "job.reopened": later("Job opened again"),
    "job.sent_back": later("Sent back to be measured"),
    "job.signed": later("Customer signed"),
    "machine.changed": later("What is on record of a machine changed"),
    "machine.changed_hands": later("Machine belongs to another customer now"),
    "machine.created": later("Machine added"),
    "password.confirmed": later("Password given again"),
    "person.added": later("Person added"),
    "person.changed": later("How a person is called changed"),
    "person.disabled": later("Person shut out"),
    "person.enabled": later("Person let in again"),
    "person.one_time_password": later("One-time password made"),
    "person.password_changed": later("Password changed"),
    "person.password_wrong": later("Wrong password given"),
    "person.pin_gone": later("PIN gone after too many wrong ones"),
    "person.pin_set": later("PIN set"),
    "person.pin_taken_away": later("PIN given up"),
    "person.pin_wrong": later("Wrong PIN given"),
    "person.roles_set": later("Roles set"),
    "person.signed_in": later("Signed in"),
    "person.took_over": later("Tablet taken over by PIN"),
    "personal_values.erased": later("Personal values erased from this log"),
    "photo.added": later("Photo added"),
    "photo.described": later("Told anew what a photo shows"),
    "photo.erased": later("Photo erased for good"),
    "photo.kept_back": later("Photo kept back from the claim"),
    "photo.shared": later("Photo goes with the claim"),
    "photo.taken_out": later("Photo taken out"),
    "reference.created": later("Reference added"),
    "reference.revised": later("Reference revised"),
    "register.exported": later("Register of certificates exported"),
    "session.closed": later("Signed out"),
    "sessions.ended": later("Sessions ended"),
    "shop.changed": later("Shop and its settings changed"),
    "signer.confirmed": later("Password of the signer given through the API"),
    "signing_key.authority_renewed": later("Signing authority and key renewed"),
    "signing_key.distrusted": later("Signing key not to be trusted any more"),
    "signing_key.loaded": later("Key of the shop's own loaded"),
    "signing_key.password_set": later("Password of the signing key set"),
    "signing_key.renewed": later("Signing key renewed"),
    "signing_key.time_stamps_set": later("Time-stamp service set"),
    "survey.submitted": later("Measurement submitted"),
    "tablet.added": later("Tablet added"),
    "tablet.code_made": later("Code to enrol a tablet made"),
    "tablet.enrolled": later("Tablet enrolled"),
    "tablet.revoked": later("Tablet revoked"),
    "token.created": later("Token for a program made"),
    "token.revoked": later("Token for a program revoked"),
    "visual_check.answered": later("Visual check answered"),
    "visual_check.looked_again": later("Visual check: looked again, nothing changed"),
}
"""What happened, by the code of the event; whom or what it was done to is said after it."""

NOBODY: dict[str, str] = {
    "nobody": later("nobody signed in"),
    "set_up": later("the program itself"),
    "command_line": later("the command line"),
}
"""Who acts without being a person or a token of the shop."""

PURPOSES: dict[str, str] = {
    "certificate.issue": later("to sign a certificate"),
    "certificate.withdraw": later("to withdraw a certificate"),
    "customer.erase": later("to erase a customer"),
    "pin.set": later("to set a PIN"),
    "signing_key.distrust": later("to trust a signing key no more"),
    "token.create": later("to make a token for a program"),
}
"""Why a password was asked for again."""

WAITS: dict[str, str] = {
    "key": later("the password of the signing key"),
    "person": later("a person who goes on with it"),
}
"""What a certificate waits for that is being signed."""

FAULTS: dict[str, str] = {
    "missing": later("event {position} is missing"),
    "altered": later("event {position} is not as it was written"),
    "end_missing": later("the end of the log is missing from event {position} on"),
    "personal_missing": later("the value {name} beside event {position} is missing"),
    "personal_altered": later("the value {name} beside event {position} is not as it was written"),
    "personal_erased_unlogged": later(
        "the value {name} beside event {position} was erased, and no event says so"
    ),
    "photo_missing": later(
        "photo {name}, added by event {position}, is missing, and no event says that it was erased"
    ),
    "photo_altered": later("photo {name}, added by event {position}, is not as it was added"),
}


def what(code: str, thing: str = "") -> str:
    """Return what happened; `thing` is whom or what it was done to, empty where that is told
    elsewhere."""
    said = _(EVENTS.get(code, code))
    return _("{what}: {thing}").format(what=said, thing=thing) if thing else said


def who(mark: str, names: Mapping[str, str]) -> str:
    """Return who acted, by the names of the marks."""
    if mark in NOBODY:
        return _(NOBODY[mark])
    if mark.startswith("token:"):
        return _("program {name}").format(name=names.get(mark) or mark)
    return names.get(mark) or mark


def fault(code: str, position: int, name: str | None) -> str:
    """Return where the log does not hold together, and how."""
    return _(FAULTS[code]).format(position=position, name=name)
