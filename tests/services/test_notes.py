"""Notes and calls of a job: kept, told to the list of the day, erased with their customer."""

from datetime import datetime, timedelta

import pytest

from app.errors import BadInput, Conflict, NotFound
from app.records.scope import scoped
from app.records.tables import Event, Job, JobNote
from app.schemas.note import CallIn, NoteIn
from app.services import check_in, customers, jobs, notes, today
from tests.services.forms import check_in_form
from tests.services.workshop import Workshop


@pytest.fixture
def number(workshop: Workshop) -> str:
    return workshop.do(check_in.check_in, "desk", check_in_form()).job_number


def kinds(workshop: Workshop, number: str) -> list[tuple[str, str | None, str | None, str | None]]:
    found = workshop.see(notes.listing, "desk", number)
    return [(one.kind, one.whom, one.outcome, one.by) for one in found]


def test_what_is_noted_stands_with_who_and_when_newest_first(
    workshop: Workshop, number: str
) -> None:
    workshop.do(notes.add, "technician", number, NoteIn(words="The left bar is loose."))
    wish = NoteIn(words="May it be replaced?", call="customer")
    workshop.do(notes.add, "technician", number, wish)
    call = CallIn(whom="customer", outcome="reached", words="She says yes.")
    last = workshop.do(notes.called, "desk", number, call)

    assert (last.at, last.words) == (workshop.now, "She says yes.")
    assert kinds(workshop, number) == [
        ("called", "customer", "reached", "Dora"),
        ("call_wanted", "customer", None, "Tove"),
        ("note", None, None, "Tove"),
    ]


def test_the_list_of_the_day_says_who_must_be_called_with_the_number(
    workshop: Workshop, number: str
) -> None:
    workshop.do(notes.add, "inspector", number, NoteIn(words="Which frame?", call="adjuster"))
    workshop.do(notes.add, "inspector", number, NoteIn(words="Ready on Friday", call="customer"))

    seen = workshop.see(today.today, "desk", workshop.now.date()).calls
    assert [(one.number, one.call.whom, one.name, one.phone) for one in seen] == [
        (number, "adjuster", None, None),
        (number, "customer", "Åse Invented", "+00 12 34-56"),
    ]
    assert seen[0].insurer_name == "Invented Mutual"
    assert seen[1].call.reasons[0].words == "Ready on Friday"
    workshop.do(notes.called, "desk", number, CallIn(whom="customer", outcome="message_left"))
    left = workshop.see(today.today, "desk", workshop.now.date()).calls
    assert [(one.call.whom, one.call.message_at) for one in left] == [
        ("adjuster", None), ("customer", workshop.now)
    ]  # fmt: skip
    reached = CallIn(whom="adjuster", outcome="reached", words="The first one.")
    workshop.do(notes.called, "desk", number, reached)
    left = workshop.see(today.today, "desk", workshop.now.date()).calls
    assert [one.call.whom for one in left] == ["customer"]


def refused(workshop: Workshop, number: str, **sent: object) -> list[tuple[str, str | None]]:
    call = CallIn.model_validate({"whom": "customer", "outcome": "reached", **sent})
    before = workshop.counts()
    with pytest.raises(BadInput) as caught:
        workshop.do(notes.called, "desk", number, call)
    assert workshop.counts() == before
    return [(one.code, one.field) for one in caught.value.problems]


def test_who_was_reached_said_something(workshop: Workshop, number: str) -> None:
    assert refused(workshop, number) == [("said_missing", "words")]
    for outcome in ("message_left", "not_reached"):
        workshop.do(notes.called, "desk", number, CallIn(whom="customer", outcome=outcome))


def test_a_past_promise_is_followed_by_a_new_day_or_by_the_word_that_it_stands(
    workshop: Workshop, number: str
) -> None:
    job = int(number[-4:])
    workshop.tamper(Job, job, promised_on=workshop.now.date())
    workshop.now += timedelta(days=3)
    said = {"words": "Friday suits her."}
    assert refused(workshop, number, **said) == [("new_day_missing", "promised_on")]
    friday = workshop.now.date() + timedelta(days=1)
    past = friday - timedelta(days=2)
    assert refused(workshop, number, **said, promised_on=past) == [("in_the_past", "promised_on")]
    both = {**said, "promised_on": friday, "promise_stands": True}
    assert refused(workshop, number, **both) == [("new_day_or_stands", "promised_on")]

    call = CallIn(whom="customer", outcome="reached", promised_on=friday, words="Friday.")
    made = workshop.do(notes.called, "desk", number, call)
    assert (made.promised_on, made.promised_before) == (friday, friday - timedelta(days=4))
    assert workshop.see(jobs.read, "desk", number).promised_on == friday
    seen = workshop.see(today.today, "desk", workshop.now.date())
    assert (seen.calls, seen.overdue) == ((), 0)
    with workshop.rows() as (session, actor):
        event = session.scalars(scoped(session, actor, Event).where(Event.what == "job.called"))
        assert f'"promised_on":"{friday}"' in event.one().public

    workshop.do(notes.add, "desk", number, NoteIn(words="Wrong line.", takes_back=made.id))
    assert workshop.see(jobs.read, "desk", number).promised_on == friday - timedelta(days=4)
    stands = CallIn(whom="customer", outcome="reached", promise_stands=True, words="He waits.")
    assert workshop.do(notes.called, "desk", number, stands).promised_on == made.promised_before
    seen = workshop.see(today.today, "desk", workshop.now.date())
    assert (seen.calls, seen.overdue) == ((), 1)


def test_a_call_is_told_to_who_noted_it_until_it_is_taken_back(
    workshop: Workshop, number: str
) -> None:
    call = CallIn(whom="customer", outcome="not_reached")
    made = workshop.do(notes.called, "desk", number, call)

    def told(role: str, since: datetime) -> bool:
        return workshop.see(notes.just_called, role, made.id, since) is not None

    assert told("desk", made.at)
    assert not told("technician", made.at)
    assert not told("desk", made.at + timedelta(seconds=1))
    workshop.do(notes.add, "desk", number, NoteIn(words="Wrong line.", takes_back=made.id))
    assert not told("desk", made.at)


def test_a_closed_job_may_be_noted_on_and_nobody_is_called_about_it(
    workshop: Workshop, number: str
) -> None:
    workshop.do(jobs.cancel, "desk", number, "sold")
    workshop.do(notes.add, "desk", number, NoteIn(words="He came for the papers."))
    with pytest.raises(Conflict, match="job_closed"):
        workshop.do(notes.add, "desk", number, NoteIn(words="Call him", call="customer"))
    with pytest.raises(NotFound, match="no_such_job"):
        workshop.do(notes.add, "desk", "J-2026-9999", NoteIn(words="x"))


def test_what_was_said_is_erased_with_its_customer_and_that_it_was_said_stays(
    workshop: Workshop, number: str
) -> None:
    workshop.do(notes.add, "desk", number, NoteIn(words="Åse is on holiday."))
    customer = workshop.see(jobs.read, "desk", number).customer.id
    workshop.do(customers.erase, "owner", customer, "she asked for it")

    (left,) = workshop.see(notes.listing, "desk", number)
    assert (left.kind, left.words) == ("note", None)
    with workshop.rows() as (session, actor):
        told = session.scalars(scoped(session, actor, Event).where(Event.what == "job.noted"))
        assert "holiday" not in told.one().public
        rows = session.scalars(scoped(session, actor, JobNote)).all()
        assert [row.words for row in rows] == [""]


def called_for(workshop: Workshop) -> list[str]:
    found = workshop.see(today.today, "desk", workshop.now.date())
    return [reason.words or "" for one in found.calls for reason in one.call.reasons]


def test_a_call_that_was_noted_by_mistake_is_taken_back_by_a_note(
    workshop: Workshop, number: str
) -> None:
    wish = NoteIn(words="May it be replaced?", call="customer")
    workshop.do(notes.add, "technician", number, wish)
    reached = CallIn(whom="customer", outcome="reached", words="Yes.")
    mistaken = workshop.do(notes.called, "desk", number, reached)
    assert called_for(workshop) == []

    back = NoteIn(words="It was another customer.", takes_back=mistaken.id)
    made = workshop.do(notes.add, "desk", number, back)

    assert (made.kind, made.takes_back, made.by) == ("note", mistaken.id, "Dora")
    assert called_for(workshop) == ["May it be replaced?"]
    newest, call, asked = workshop.see(notes.listing, "desk", number)
    assert (newest.taken_back, call.taken_back, asked.taken_back) == (False, True, False)
    with pytest.raises(Conflict, match="call_taken_back"):
        workshop.do(notes.add, "desk", number, back)
    workshop.do(notes.add, "desk", number, NoteIn(words="Not needed.", takes_back=asked.id))
    assert called_for(workshop) == []
    with workshop.rows() as (session, actor):
        events = session.scalars(scoped(session, actor, Event).where(Event.what == "job.noted"))
        assert f'"takes_back":{mistaken.id}' in events.all()[0].public


def test_only_a_call_of_this_job_is_taken_back(workshop: Workshop, number: str) -> None:
    plain = workshop.do(notes.add, "desk", number, NoteIn(words="The left bar is loose."))
    form = check_in_form(machine={**check_in_form()["machine"], "frame_number": "OTHER-1"})
    other = workshop.do(check_in.check_in, "desk", form).job_number
    call = CallIn(whom="customer", outcome="reached", words="Yes.")
    elsewhere = workshop.do(notes.called, "desk", other, call)
    for identity in (plain.id, elsewhere.id, 999):
        with pytest.raises(NotFound, match="no_such_call"):
            workshop.do(notes.add, "desk", number, NoteIn(words="Why", takes_back=identity))
    workshop.do(jobs.cancel, "desk", other, "sold")
    with pytest.raises(Conflict, match="job_closed"):
        workshop.do(notes.add, "desk", other, NoteIn(words="Why", takes_back=elsewhere.id))
