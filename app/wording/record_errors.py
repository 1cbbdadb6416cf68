"""What is wrong with a request about the shop's records, in three parts."""

from app.wording.explanation import Explanation, Table
from app.wording.translation import later

TABLE: Table = {
    "nothing_to_send_back": Explanation(
        later("nothing was measured on this job yet"),
        later("a measurement is needed before a job can be sent back"),
        later("wait for the measurement, or note what is to be known"),
    ),
    "sent_back_already": Explanation(
        later("this job was sent back already, and not answered yet"),
        later("each reason is answered before the next is given"),
        later("note what else is to be known"),
    ),
    "certified_already": Explanation(
        later("a certificate of this job is in force"),
        later("a job without one is needed"),
        later("withdraw the certificate first"),
    ),
    "not_sent_back": Explanation(
        later("this job waits for no answer"),
        later("a job that was sent back is needed"),
        later("note what is to be known"),
    ),
    "no_such_customer": Explanation(
        later("this shop has no such customer"),
        later("a customer that is on record is needed"),
        later("choose it from the list"),
    ),
    "no_such_machine": Explanation(
        later("this shop has no such machine"),
        later("a machine that is on record is needed"),
        later("choose it from the list"),
    ),
    "no_such_insurer": Explanation(
        later("this shop has no such insurer"),
        later("an insurer that is on record is needed"),
        later("choose it from the list"),
    ),
    "no_such_job": Explanation(
        later("this shop has no such job"),
        later("a job that is on record is needed"),
        later("choose it from the list"),
    ),
    "no_such_reference": Explanation(
        later("this shop has no such reference"),
        later("a reference that is on record is needed"),
        later("choose it from the list"),
    ),
    "no_such_revision": Explanation(
        later("this shop has no such revision of the reference"),
        later("a revision of the reference that is on record is needed"),
        later("choose it from the list"),
    ),
    "no_such_instrument": Explanation(
        later("this shop has no such instrument"),
        later("an instrument that is on record is needed"),
        later("choose it from the list"),
    ),
    "no_such_draft": Explanation(
        later("this shop has no such measurement being taken"),
        later("a measurement being taken that is on record is needed"),
        later("choose it from the list"),
    ),
    "no_such_point": Explanation(
        later("this shop has no such point in this measurement"),
        later("a point in this measurement that is on record is needed"),
        later("choose it from the list"),
    ),
    "no_such_survey": Explanation(
        later("this shop has no such measurement of this job"),
        later("a measurement of this job that is on record is needed"),
        later("choose it from the list"),
    ),
    "no_such_item": Explanation(
        later("the visual check has no such item"),
        later("an item of its list is needed"),
        later("choose it from the list"),
    ),
    "no_such_correction": Explanation(
        later("this shop has no such correction of this job"),
        later("a correction of this job that is on record is needed"),
        later("choose it from the list"),
    ),
    "no_such_call": Explanation(
        later("there is no call {met} on this job"),
        later("a call that was made or asked for is needed"),
        later("look at the job's notes and choose it there"),
    ),
    "call_taken_back": Explanation(
        later("this call of job {job} was taken back already"),
        later("a call that counts is needed"),
        later("look at the job's notes: nothing is left to do"),
    ),
    "correction_put_right": Explanation(
        later("this correction of job {job} was put right already"),
        later("the note that stands is needed"),
        later("look at the job and choose it there"),
    ),
    "correction_to_come": Explanation(
        later("{where} has not come yet ({met})"),
        later("a day on which the work was done is needed"),
        later("correct it"),
    ),
    "corrected_before_received": Explanation(
        later("{where} is before the machine came ({met})"),
        later("a day on which it was here is needed"),
        later("correct it"),
    ),
    "no_such_hold": Explanation(
        later("this shop has no such hold of this job"),
        later("a hold of this job that is on record is needed"),
        later("choose it from the list"),
    ),
    "no_such_certificate": Explanation(
        later("this shop has no such certificate"),
        later("a certificate that is on record is needed"),
        later("compare the number with the certificate: C, the year and the number after it"),
    ),
    "no_such_claim_link": Explanation(
        later("this shop has no such claim link"),
        later("a claim link that is on record is needed"),
        later("choose it from the list"),
    ),
    "no_such_person": Explanation(
        later("this shop has no such person"),
        later("a person that is on record is needed"),
        later("choose it from the list"),
    ),
    "no_such_event": Explanation(
        later("the event log has no event {met}"),
        later("the number of an event is needed"),
        later("choose it from the event log"),
    ),
    "no_such_token": Explanation(
        later("this shop has no such token"),
        later("a token that is on record is needed"),
        later("choose it from the list"),
    ),
    "no_such_session": Explanation(
        later("this shop has no such session"),
        later("a session that is on record is needed"),
        later("choose it from the list"),
    ),
    "job_closed": Explanation(
        later("job {job} is closed ({status})"),
        later("a job that is still open is needed"),
        later("check the machine in again for a new job"),
    ),
    "customer_erased": Explanation(
        later("this customer's personal values were erased"),
        later("a customer on record is needed"),
        later("make a new customer"),
    ),
    "reason_names_customer": Explanation(
        later("{where} names the customer, by name, number or plate"),
        later("a reason without a name is needed: it stays in the event log for good"),
        later("write it without that, such as: the customer asked for it in writing"),
    ),
    "machine_changed_hands": Explanation(
        later("this machine belongs to another customer by now"),
        later("plate and colour of a machine of this job's customer are needed"),
        later("leave them as they are here, and change them at the machine's newest job"),
    ),
    "machine_as_on_record": Explanation(
        later("all of this stands on record already"),
        later("something that is to be put right is needed"),
        later("change what is wrong, or go back to the job"),
    ),
    "frame_number_known": Explanation(
        later("a machine with this frame number is on record already"),
        later("each frame number once is needed"),
        later("choose the machine from the list"),
    ),
    "frame_number_of_another_customer": Explanation(
        later("on record a machine with this frame number belongs to {owner}"),
        later("the owner of the machine is needed"),
        later("compare the frame number, or take {owner} from what is on record"),
    ),
    "draft_open": Explanation(
        later("a measurement of this phase is being taken already"),
        later("one at a time is needed"),
        later("go on with it, submit it or discard it"),
    ),
    "draft_changed": Explanation(
        later("somebody changed this measurement meanwhile"),
        later("the latest version of it is needed"),
        later("load it again and repeat the entry"),
    ),
    "draft_not_open": Explanation(
        later("this measurement was submitted or discarded"),
        later("one that is still being taken is needed"),
        later("begin a new one"),
    ),
    "phase_differs": Explanation(
        later("the survey says another phase than was chosen"),
        later("one phase is needed: before, during or after"),
        later("correct the survey or choose its phase"),
    ),
    "survey_superseded": Explanation(
        later("another measurement took the place of this one already"),
        later("one that still stands is needed"),
        later("choose the one that stands"),
    ),
    "replaces_other_phase": Explanation(
        later("measurement {number} was taken {was} the correction, this one {is_now} it"),
        later("one of the same phase is needed, so that what was found before it stays"),
        later("choose one of the same phase, or none"),
    ),
    "replaces_without_reason": Explanation(
        later("nothing says why measurement {number} is to be replaced"),
        later("the reason is needed and stays beside both"),
        later("say why, or let it take no place"),
    ),
    "job_changed": Explanation(
        later("the job's reference or instrument was changed meanwhile"),
        later("the survey must be judged by what the job has now"),
        later("submit it again"),
    ),
    "frame_on_hold": Explanation(
        later("the frame is on hold: {items}"),
        later("an inspector's decision is needed before anything of it is straightened"),
        later(
            "have an inspector close the hold on the job's page first, or note another method, "
            "such as the part replaced"
        ),
    ),
    "word_needed": Explanation(
        later("no order that the customer has given names this correction"),
        later("the customer's word on it is needed before it is made"),
        later("ask the customer, then say that they agreed, and who said so"),
    ),
    "reference_of_another": Explanation(
        later("the reference {met} is not of this machine, {machine}"),
        later("a reference of the same make, model and year is needed, or a reason"),
        later("choose one of this machine, or say why this one holds for it"),
    ),
    "reference_in_use": Explanation(
        later("a measurement stands against the job's reference"),
        later("the reference must stay the same within a job"),
        later("replace the measurement first"),
    ),
    "nothing_changed": Explanation(
        later("this is the same as what is on record"),
        later("a change is needed for a new revision"),
        later("change what is to change"),
    ),
    "instrument_retired": Explanation(
        later("this instrument was taken out of use"),
        later("one in use is needed"),
        later("choose another instrument"),
    ),
    "in_the_future": Explanation(
        later("{where} lies in the future ({met})"),
        later("a day or time that has passed is needed"),
        later("correct it"),
    ),
    "hold_closed": Explanation(
        later("this hold was closed already"),
        later("an open hold is needed"),
        later("look at the list of holds"),
    ),
    "changed_meanwhile": Explanation(
        later("somebody changed this meanwhile"),
        later("the latest version is needed"),
        later("load it again and repeat the change"),
    ),
    "idempotency_key_reused": Explanation(
        later("this Idempotency-Key was used with another body"),
        later("a key of its own is needed for each write"),
        later("send it again with a new key"),
    ),
    "instrument_name_taken": Explanation(
        later("an instrument is called {met} already"),
        later("each name once is needed"),
        later("choose another name"),
    ),
    "known_or_new": Explanation(
        later("{where} was neither chosen nor entered, or both"),
        later("one that is on record, or a new one, is needed"),
        later("choose one from the list or fill in a new one"),
    ),
    "in_the_past": Explanation(
        later("{where} lies in the past ({met})"),
        later("a day from today on is needed"),
        later("correct it"),
    ),
    "machine_here_already": Explanation(
        later("this machine is here already, under job {job}"),
        later("one open job for each machine is needed"),
        later("go on with that job"),
    ),
    "job_not_closed": Explanation(
        later("job {job} is open"),
        later("a closed job is needed"),
        later("look at the job"),
    ),
    "draft_still_open": Explanation(
        later("a measurement of job {job} is being taken"),
        later("none may be open"),
        later("submit it or discard it"),
    ),
    "nothing_chosen": Explanation(
        later("nothing was chosen"),
        later("one of the list is needed"),
        later("choose one"),
    ),
    "nothing_sent": Explanation(
        later("nothing was entered"),
        later("points are needed"),
        later("type them, paste a table or choose a file"),
    ),
    "nothing_to_check": Explanation(
        later("neither a file nor a number was given"),
        later("a certificate's PDF, or its number, is needed"),
        later("choose the file as you were sent it, or type the number"),
    ),
    "no_reference_sent": Explanation(
        later("nothing was entered"),
        later("a reference is needed"),
        later("paste its text or choose a file"),
    ),
    "nothing_answered": Explanation(
        later("nothing was answered"),
        later("an answer to at least one item is needed"),
        later("say for each item whether it was seen"),
    ),
    "no_comparison": Explanation(
        later("the job does not have both a measurement before and one after"),
        later("both are needed to compare"),
        later("measure what is missing"),
    ),
}
