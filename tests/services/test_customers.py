"""Customers: found under any spelling, changed with an event, erased for good."""

import json

import pytest

from app.errors import BadInput, Conflict, NotAllowed, NotFound
from app.records.scope import scoped
from app.records.tables import Event, IdempotencyKey, PersonalValue
from app.schemas.correction import CorrectionIn
from app.schemas.customer import CustomerIn
from app.schemas.machine import MachineIn
from app.schemas.note import NoteIn
from app.services import (
    audit_check,
    check_in,
    claims,
    corrections,
    customers,
    idempotency,
    jobs,
    kept,
    machines,
    notes,
    today,
)
from app.services.idempotency import StoredAnswer
from app.services.kept_document import document
from tests.services.forms import check_in_form
from tests.services.workshop import Workshop

ASE = CustomerIn(
    name="Åse Ødegård", phone="+00 12-34 56", email="ase@example.invalid", note="rings back late"
)


def test_a_customer_is_kept_as_given(workshop: Workshop) -> None:
    made = workshop.do(customers.create, "desk", ASE)

    assert workshop.see(customers.read, "technician", made.id) == made
    assert (made.name, made.phone, made.address) == ("Åse Ødegård", "+00 12-34 56", None)
    assert made.created_at == workshop.now
    assert made.erased_at is None


@pytest.mark.parametrize(
    "sought", ["Ase", "åse", "øDEGARD", "ase ødegard", "001234", "12-34", "@example", ""]
)
def test_a_customer_is_found_by_pieces_of_any_spelling(workshop: Workshop, sought: str) -> None:
    workshop.do(customers.create, "desk", CustomerIn(name="Somebody Else"))
    made = workshop.do(customers.create, "desk", ASE)

    found = workshop.see(customers.find, "desk", sought)

    assert made in found
    assert len(found) == (2 if sought == "" else 1)


@pytest.mark.parametrize("sought", ["%", "_", "ase nobody", "' OR 1=1 --"])
def test_signs_of_a_pattern_are_only_signs(workshop: Workshop, sought: str) -> None:
    workshop.do(customers.create, "desk", ASE)

    assert workshop.see(customers.find, "desk", sought) == ()


def test_a_list_comes_newest_first_in_pages(workshop: Workshop) -> None:
    made = [workshop.do(customers.create, "desk", CustomerIn(name=f"No {n}")) for n in range(5)]

    assert workshop.see(customers.find, "desk", limit=2, offset=1) == (made[3], made[2])
    assert len(workshop.see(customers.find, "desk", limit=-1)) == 1


def test_a_change_puts_new_values_in_place_and_leaves_an_event(workshop: Workshop) -> None:
    made = workshop.do(customers.create, "desk", ASE)

    changed = workshop.do(customers.update, "desk", made.id, CustomerIn(name="Åse Strand"))

    assert (changed.name, changed.phone) == ("Åse Strand", None)
    assert workshop.see(customers.find, "desk", "odegard") == ()
    with workshop.rows() as (session, actor):
        events = session.scalars(scoped(session, actor, Event).order_by(Event.position)).all()
    assert [event.what for event in events] == ["customer.created", "customer.changed"]
    assert "Strand" not in events[1].public + events[1].personal


def test_there_is_no_such_customer(workshop: Workshop) -> None:
    for unknown in (7, 0, -1, 2**70):
        with pytest.raises(NotFound, match="no_such_customer"):
            workshop.see(customers.read, "desk", unknown)


def test_erasing_leaves_the_job_without_a_name_and_the_log_whole(workshop: Workshop) -> None:
    done = workshop.do(check_in.check_in, "desk", check_in_form())
    workshop.do(jobs.hand_over, "desk", done.job_number, "Åse's brother")
    assert workshop.see(jobs.read, "desk", done.job_number).handed_over_to == "Åse's brother"

    erased = workshop.do(customers.erase, "owner", done.customer_id, "she asked for it")

    assert erased.erased_at == workshop.now
    assert {erased.name, erased.address, erased.phone, erased.email, erased.note} == {None}
    job = workshop.see(jobs.read, "desk", done.job_number)
    assert (job.customer.name, job.authorised_by, job.incident.account) == (None, None, None)
    assert (job.machine.plate, job.handed_over_to, job.belongings) == (None, None, ())
    assert job.machine.frame_number == "ZZZTEST00A1000017"
    for sought in ("ase", "ab12cd", "odegard"):
        assert workshop.see(customers.find, "desk", sought) == ()
        assert workshop.see(machines.find, "desk", sought) == ()
        assert workshop.see(today.today, "desk", workshop.now.date(), sought).total == 0
    assert workshop.see(today.today, "desk", workshop.now.date(), done.job_number).total == 1
    with workshop.rows() as (session, actor):
        left = session.scalars(scoped(session, actor, PersonalValue)).all()
        assert {(one.value, one.salt) for one in left} == {(None, None)}
        assert audit_check.verify(session, actor).breaks == ()


def test_nothing_of_an_erased_customer_stays_in_the_database_file(workshop: Workshop) -> None:
    claim = {"claim_number": "CL/2026-77", "policy_number": "P-4711", "adjuster": "Bo Invented"}
    done = workshop.do(check_in.check_in, "desk", check_in_form(claim=claim))
    workshop.do(claims.create_link, "desk", done.job_number, note="Åse herself")
    workshop.do(customers.erase, "owner", done.customer_id, "she asked for it")

    with workshop.database.engine.connect() as connection:
        for table in workshop.counts():
            rows = connection.exec_driver_sql(f'SELECT * FROM "{table}"').all()
            text = json.dumps([list(map(str, row)) for row in rows], ensure_ascii=False)
            for secret in (
                "Åse",
                "Made-up Lane",
                "12 34-56",
                "ase@example",
                "AB-12",
                "van",
                "4711",
            ):
                assert secret not in text, f"{secret} in {table}"


def test_answers_kept_for_repeated_requests_forget_an_erased_customer(workshop: Workshop) -> None:
    done = workshop.do(check_in.check_in, "desk", check_in_form())
    name = workshop.see(customers.read, "desk", done.customer_id).name
    owner = workshop.people["owner"]
    with workshop.database.write() as session:
        for key, told in {"hers": name, "of her machine": "AB-12 CD", "of others": "Bo"}.items():
            answer = StoredAnswer(201, json.dumps({"told": told}, ensure_ascii=False))
            idempotency.remember(session, owner, key, "r", answer, workshop.now)

    workshop.do(customers.erase, "owner", done.customer_id, "she asked for it")

    with workshop.rows() as (session, actor):
        kept = session.scalars(scoped(session, actor, IdempotencyKey)).all()
        assert [row.key for row in kept] == ["of others"]


def test_an_erased_customer_is_neither_changed_nor_erased_again(workshop: Workshop) -> None:
    made = workshop.do(customers.create, "desk", ASE)
    workshop.do(customers.erase, "owner", made.id, "asked for it")

    with pytest.raises(Conflict, match="customer_erased"):
        workshop.do(customers.update, "desk", made.id, ASE)
    with pytest.raises(Conflict, match="customer_erased"):
        workshop.do(customers.erase, "owner", made.id, "again")


def test_texts_that_stay_and_name_the_customer_are_told_before(workshop: Workshop) -> None:
    done = workshop.do(check_in.check_in, "desk", check_in_form())
    for text in ("head pulled, ÅSE watched", "plate ab 12-cd put back", "fork changed"):
        noted = CorrectionIn.model_validate({"text": text})
        workshop.do(corrections.note, "technician", done.job_number, noted)

    told = workshop.see(customers.extent, "owner", done.customer_id).still_named

    assert [(one.kind, one.text[:5]) for one in told] == [
        ("correction", "head "),
        ("correction", "plate"),
    ]


def test_what_is_kept_of_one_owner_says_nothing_of_the_next(workshop: Workshop) -> None:
    done = workshop.do(check_in.check_in, "desk", check_in_form())
    workshop.do(jobs.hand_over, "desk", done.job_number, "Åse")
    form = check_in_form(machine_id=done.machine_id, customer={"name": "Bo Next"})
    del form["machine"]
    later = workshop.do(check_in.check_in, "desk", form)
    plate = MachineIn(make="F", model="S", frame_number="ZZZTEST00A1000017", plate="BO-77")
    workshop.do(machines.update, "desk", done.machine_id, plate)

    of_both = [
        json.dumps(document(workshop.see(kept.read, "desk", one, workshop.now), "", workshop.now))
        for one in (done.customer_id, later.customer_id)
    ]

    assert ["BO-77" in text for text in of_both] == [False, True]
    assert ["AB-12 CD" in text for text in of_both] == [True, False]
    assert ["Bo Next" in text for text in of_both] == [False, True]


def test_who_asked_waits_until_erased_or_taken_back(workshop: Workshop) -> None:
    first, second = (
        workshop.do(customers.create, "desk", CustomerIn(name=f"No {n}")).id for n in range(2)
    )
    for one in (second, first, second):
        workshop.do(customers.ask_erasure, "desk", one)
    waiting = workshop.see(customers.waiting_to_be_erased, "owner")
    assert [one.id for one in waiting] == [second, first]

    workshop.do(customers.take_asking_back, "desk", second)
    workshop.do(customers.erase, "owner", first, "asked for it")

    assert workshop.see(customers.waiting_to_be_erased, "owner") == ()
    with pytest.raises(NotAllowed):
        workshop.see(customers.waiting_to_be_erased, "desk")
    with pytest.raises(NotAllowed):
        workshop.do(customers.ask_erasure, "technician", second)


def test_nobody_is_to_call_an_erased_customer(workshop: Workshop) -> None:
    done = workshop.do(check_in.check_in, "desk", check_in_form())
    wanted = NoteIn(words="May it be pulled?", call="customer")
    workshop.do(notes.add, "technician", done.job_number, wanted)
    day = workshop.now.date()
    assert len(workshop.see(today.today, "desk", day).calls) == 1
    assert len(workshop.see(notes.calls_of, "desk", done.job_number, day)) == 1

    workshop.do(customers.erase, "owner", done.customer_id, "asked for it")

    assert workshop.see(today.today, "desk", day).calls == ()
    assert workshop.see(notes.calls_of, "desk", done.job_number, day) == ()


@pytest.mark.parametrize("reason", ["", "  ", "x" * 5000, 7, "a\x00b"])
def test_erasing_needs_a_reason_in_words(workshop: Workshop, reason: object) -> None:
    made = workshop.do(customers.create, "desk", ASE)

    with pytest.raises(BadInput) as refusal:
        workshop.do(customers.erase, "owner", made.id, reason)

    assert refusal.value.problems[0].field == "reason"
    assert workshop.see(customers.read, "desk", made.id) == made


def test_only_the_counter_adds_and_only_the_owner_erases(workshop: Workshop) -> None:
    made = workshop.do(customers.create, "owner", ASE)

    for role in ("technician", "inspector"):
        with pytest.raises(NotAllowed):
            workshop.do(customers.create, role, ASE)
    for role in ("desk", "technician", "inspector"):
        with pytest.raises(NotAllowed):
            workshop.do(customers.erase, role, made.id, "no")
