"""Sending a job back with a reason; a measurement or an answer clears it."""

import pytest

from app.errors import BadInput, Conflict, NotAllowed
from app.records.scope import scoped
from app.records.tables import Event, PersonalValue
from app.services import (
    certificates,
    check_in,
    customers,
    drafts,
    jobs,
    sending_back,
    sign_off_queue,
    today,
)
from app.services.audit_check import verify
from app.services.jobs import JobView
from tests.services.certifying import Bench
from tests.services.documents import COARSE, SOUND, survey_document
from tests.services.forms import check_in_form

WHY = "The left adjuster was not recorded."


def send_back(done: Bench, why: str = WHY) -> JobView:
    return done.workshop.do(sending_back.send_back, "inspector", done.number, why)


def answer(done: Bench, said: str = "Both stand at mark 4.") -> JobView:
    return done.workshop.do(sending_back.answer, "technician", done.number, said)


def step_of(job: JobView) -> str | None:
    return job.next_step.code if job.next_step else None


def codes_of(done: Bench) -> list[str]:
    return done.codes("report")


def test_the_job_waits_for_the_technician_who_is_told_why(done: Bench) -> None:
    job = send_back(done)
    assert (job.status, job.waits_for, step_of(job)) == ("measured", "technician", "measure_after")
    assert job.sent_back is not None
    assert (job.sent_back.why, job.sent_back.by) == (WHY, "Ines")
    assert job.since == job.sent_back.at == done.workshop.now


def test_the_list_of_today_says_so(done: Bench) -> None:
    send_back(done)
    found = done.workshop.see(today.today, "technician", done.workshop.now.date())
    assert [(line.number, line.sent_back) for line in found.lines] == [(done.number, True)]


def test_meanwhile_nothing_can_be_signed(done: Bench) -> None:
    assert codes_of(done) == []
    send_back(done)
    assert codes_of(done) == ["sent_back_unanswered"]
    answer(done)
    assert codes_of(done) == []


def test_an_answer_brings_it_back_to_the_inspector(done: Bench) -> None:
    send_back(done)
    job = answer(done)
    assert (job.status, job.waits_for, job.sent_back) == ("to_sign", "inspector", None)
    assert job.since == done.workshop.now
    told = done.workshop.see(sending_back.exchanges, "inspector", done.number)
    assert [(one.kind, one.words, one.by) for one in told] == [
        ("sent_back", WHY, "Ines"), ("answered", "Both stand at mark 4.", "Tove"),
    ]  # fmt: skip


def test_a_new_measurement_brings_it_back_too(done: Bench) -> None:
    send_back(done)
    done.workshop.do(drafts.open_draft, "technician", done.number, "after")
    job = done.workshop.see(jobs.read, "inspector", done.number)
    assert (job.status, job.sent_back is None) == ("measuring", False)
    done.measure("after", because="wanted by the inspector")
    assert done.workshop.see(jobs.read, "inspector", done.number).sent_back is None
    assert "sent_back_unanswered" not in codes_of(done)


def test_it_can_be_sent_back_once_more_after_an_answer(done: Bench) -> None:
    send_back(done)
    answer(done)
    assert send_back(done, "And the temperature?").sent_back is not None


def test_not_twice_before_an_answer(done: Bench) -> None:
    send_back(done)
    with pytest.raises(Conflict, match="sent_back_already"):
        send_back(done)


def test_not_before_anything_was_measured(job: Bench) -> None:
    with pytest.raises(Conflict, match="nothing_to_send_back"):
        send_back(job)


@pytest.mark.usefixtures("quick")
def test_not_while_a_certificate_of_it_is_in_force(done: Bench) -> None:
    issued = done.issue()
    with pytest.raises(Conflict, match="certified_already"):
        send_back(done)
    done.workshop.do(certificates.withdraw, "inspector", issued.number, "wrong claim")
    assert send_back(done).sent_back is not None


def test_not_a_closed_job(done: Bench) -> None:
    done.workshop.do(jobs.hand_over, "desk", done.number, "Invented")
    with pytest.raises(Conflict, match="job_closed"):
        send_back(done)


def test_what_was_not_sent_back_takes_no_answer(done: Bench) -> None:
    with pytest.raises(Conflict, match="not_sent_back"):
        answer(done)


@pytest.mark.parametrize("text", ["", "   ", "x" * 9000])
def test_a_reason_and_an_answer_are_words(done: Bench, text: str) -> None:
    with pytest.raises(BadInput) as refused:
        send_back(done, text)
    assert refused.value.problems[0].field == "reason"
    send_back(done)
    with pytest.raises(BadInput) as refused:
        answer(done, text)
    assert refused.value.problems[0].field == "answer"


@pytest.mark.parametrize("role", ["desk", "technician", "owner"])
def test_only_an_inspector_sends_back(done: Bench, role: str) -> None:
    with pytest.raises(NotAllowed):
        done.workshop.do(sending_back.send_back, role, done.number, WHY)


def test_the_queue_has_what_waits_for_a_signature_and_what_was_sent_back(done: Bench) -> None:
    def queue() -> sign_off_queue.Queue:
        return done.workshop.see(sign_off_queue.queue, "inspector", done.workshop.now.date())

    found = queue()
    assert [one.line.number for one in found.to_sign] == [done.number]
    assert (found.to_sign[0].against_report, found.to_sign[0].against_completion) == (0, 0)
    assert found.to_sign[0].after_sending_back is None
    send_back(done)
    found = queue()
    assert (found.to_sign, found.total) == ((), 0)
    assert [line.number for line in found.sent_back] == [done.number]
    answer(done)
    assert [one.after_sending_back for one in queue().to_sign] == ["answered"]
    send_back(done)
    done.measure("after", because="wanted by the inspector")
    assert [one.after_sending_back for one in queue().to_sign] == ["measured_again"]


@pytest.mark.usefixtures("quick")
def test_earlier_certificates_of_the_frame_are_told_with_their_status(done: Bench) -> None:
    issued = done.issue()
    done.workshop.do(certificates.withdraw, "inspector", issued.number, "wrong claim")
    done.workshop.do(jobs.hand_over, "desk", done.number, "Invented")
    again = second_visit(done)
    found = done.workshop.see(sign_off_queue.of_the_same_frame, "inspector", again)
    assert [(one.number, one.status, one.job_number) for one in found] == [
        (issued.number, "withdrawn", done.number)
    ]
    own = done.workshop.see(sign_off_queue.of_the_same_frame, "inspector", done.number)
    assert [one.number for one in own] == [issued.number]


def test_an_answer_on_an_undecided_finding_waits_for_the_inspector_too(job: Bench) -> None:
    """It would be in nobody's hands: undecided alone leads to another measurement."""
    sent = survey_document(SOUND, COARSE, measured_at="2026-03-02T09:00:00+01:00")
    assert job.measure("before", sent).result["finding"]["verdict"] == "undecided"
    send_back(job)
    told = answer(job, "The bore is worn; measuring again says the same.")
    assert (told.status, told.waits_for, step_of(told)) == ("to_sign", "inspector", "sign")
    assert told.answered is not None
    found = job.workshop.see(sign_off_queue.queue, "inspector", job.workshop.now.date())
    waiting = [(one.line.number, one.answer, one.against_report) for one in found.to_sign]
    assert waiting == [(job.number, "The bore is worn; measuring again says the same.", 0)]
    assert found.sent_back == ()
    job.measure("before", sent, because="measured all the same")
    later = job.workshop.see(jobs.read, "inspector", job.number)
    assert (later.waits_for, later.answered) == ("technician", None)


def second_visit(done: Bench) -> str:
    """The same machine checked in once more."""
    job = done.workshop.see(jobs.read, "desk", done.number)
    form = check_in_form(machine_id=job.machine.id, customer_id=job.customer.id)
    for replaced in ("machine", "customer"):
        del form[replaced]
    return str(done.workshop.do(check_in.check_in, "desk", form).job_number)


def test_reasons_and_answers_are_erased_with_the_customer(done: Bench) -> None:
    send_back(done, "Åse says it stood in the rain.")
    answer(done, "Åse was right.")
    workshop, number = done.workshop, done.number
    workshop.do(jobs.cancel, "owner", number, "Åse sold it.")
    customer = workshop.see(jobs.read, "desk", number).customer.id
    workshop.do(customers.erase, "owner", customer, "she asked for it")

    told = workshop.see(sending_back.exchanges, "inspector", number)
    assert [(one.kind, one.words) for one in told] == [("sent_back", ""), ("answered", "")]
    assert workshop.see(jobs.read, "desk", number).cancelled_reason is None
    with workshop.rows() as (session, actor):
        events = session.scalars(scoped(session, actor, Event)).all()
        assert {"job.sent_back", "job.answered", "job.cancelled"} <= {one.what for one in events}
        assert not any("Åse" in f"{one.public}{one.personal}" for one in events)
        values = session.scalars(scoped(session, actor, PersonalValue)).all()
        assert not any("Åse" in (one.value or "") for one in values)
        assert verify(session, actor).whole
