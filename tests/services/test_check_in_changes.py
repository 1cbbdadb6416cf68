"""A check-in put right afterwards: all of it or nothing, seen by the log, and by nobody undone."""

import json
import time
from datetime import UTC, date, datetime
from typing import Any

import pytest

from app.errors import BadInput, Conflict, NotAllowed
from app.records.scope import scoped
from app.records.tables import Event, IdempotencyKey, PersonalValue
from app.schemas.check_in import VisitIn
from app.services import (
    audit_check,
    check_in,
    check_in_changes,
    customers,
    idempotency,
    jobs,
    machines,
)
from app.services.check_in_problems import about_days
from app.services.idempotency import StoredAnswer
from tests.services.forms import check_in_form
from tests.services.workshop import Workshop


@pytest.fixture
def number(workshop: Workshop) -> str:
    form = check_in_form(damage=[{"zone": "fork", "look": "bent"}], promised_on="2026-03-05")
    return workshop.do(check_in.check_in, "desk", form).job_number


def standing(workshop: Workshop, number: str, **changes: Any) -> dict[str, Any]:
    """The whole form as it stands on record, with some of it put in place."""
    job = workshop.see(jobs.read, "desk", number)
    form = check_in_form()
    return {
        "version": job.check_in_version,
        "customer": form["customer"],
        "machine": {"plate": "AB-12 CD", "colour": "grey"},
        "claim": {"insurer_id": job.claim.insurer_id, "claim_number": "CL/2026-77"},
        "incident": form["incident"],
        "rideable": "no",
        "odometer_km": "18230",
        "damage": [{"zone": "fork", "look": "bent"}],
        "visible_damage": form["visible_damage"],
        "belongings": form["belongings"],
        "storage_place": "bay 3",
        "promised_on": "2026-03-05",
        **changes,
    }


def change(workshop: Workshop, number: str, role: str = "desk", **changes: Any) -> Any:
    return workshop.do(check_in_changes.change, role, number, standing(workshop, number, **changes))


def events(workshop: Workshop, what: str) -> list[Event]:
    with workshop.rows() as (session, owner):
        return list(session.scalars(scoped(session, owner, Event).where(Event.what == what)))


def test_everything_that_was_noted_wrong_is_put_right(workshop: Workshop, number: str) -> None:
    job = change(
        workshop,
        number,
        customer={"name": "Åse Imagined", "phone": "+00 99", "address": "2 Made-up Lane"},
        machine={"plate": "XY-9", "colour": "red"},
        claim={"insurer": {"name": "Another Invented"}, "claim_number": "C-2", "adjuster": "Bo"},
        incident={"impact_kind": "side", "clock_direction": "3", "account": "Hit from the side."},
        odometer_km="18231",
        damage=[{"zone": "tank", "side": "left", "look": "dented"}],
        visible_damage=[],
        belongings=["two keys"],
        storage_place="bay 7",
        promised_on="2026-03-20",
        rideable="yes",
    )
    assert (job.customer.name, job.customer.phone, job.customer.email) == (
        "Åse Imagined", "+00 99", None,
    )  # fmt: skip
    assert (job.machine.plate, job.machine.colour) == ("XY-9", "red")
    assert (job.machine.make, job.machine.year, job.machine.frame_number) == (
        "Fjordmark", 2021, "ZZZTEST00A1000017",
    )  # fmt: skip
    assert (job.claim.insurer_name, job.claim.claim_number, job.claim.adjuster) == (
        "Another Invented", "C-2", "Bo",
    )  # fmt: skip
    assert (job.incident.impact_kind, job.incident.clock_direction) == ("side", 3)
    assert (job.odometer_km, job.storage_place, job.rideable) == (18231, "bay 7", "yes")
    assert job.visible_damage == ("fuel tank, left: dented",)
    assert job.belongings == ("two keys",)
    assert job.promised_on == date(2026, 3, 20)
    assert job.authorised_by == "Åse Invented"


def test_a_customers_note_and_what_else_the_form_does_not_hold_stays(
    workshop: Workshop,
) -> None:
    form = check_in_form()
    form["customer"]["note"], form["machine"]["note"] = "rings after six", "lowered"
    number = workshop.do(check_in.check_in, "desk", form).job_number
    changed = {"name": "Åse Imagined"}
    job = change(workshop, number, customer=changed, machine={"plate": "XY-9"})
    assert (job.customer.note, job.machine.note) == ("rings after six", "lowered")


def test_the_log_says_what_was_changed_and_the_chain_holds(workshop: Workshop, number: str) -> None:
    change(workshop, number, storage_place="bay 7", belongings=["nothing but dust"])
    (event,) = events(workshop, "job.check_in_changed")
    said = json.loads(event.public)
    assert said["changed"] == ["keys_and_accessories", "storage_place"]
    assert "dust" not in event.public
    assert event.actor.startswith("person:")
    assert events(workshop, "customer.changed") == events(workshop, "machine.changed") == []
    assert workshop.see(audit_check.verify, "owner").whole


def test_saving_what_stands_there_already_is_no_change(workshop: Workshop, number: str) -> None:
    before = workshop.counts()
    seen = workshop.see(jobs.read, "desk", number).check_in_version
    assert change(workshop, number).check_in_version == seen
    assert workshop.counts() == before


def test_of_two_desks_the_slower_one_is_told_and_overwrites_nothing(
    workshop: Workshop, number: str
) -> None:
    mine = standing(workshop, number, storage_place="bay 9")
    change(workshop, number, customer={"name": "Åse Imagined"})
    with pytest.raises(Conflict, match="changed_meanwhile"):
        workshop.do(check_in_changes.change, "desk", number, mine)
    job = workshop.see(jobs.read, "desk", number)
    assert (job.customer.name, job.storage_place) == ("Åse Imagined", "bay 3")


def test_what_the_floor_does_is_no_reason_to_refuse_the_desk(
    workshop: Workshop, number: str
) -> None:
    mine = standing(workshop, number, storage_place="bay 9")
    workshop.do(jobs.note_correction, "technician", number, "straightened the bar")
    assert workshop.do(check_in_changes.change, "desk", number, mine).storage_place == "bay 9"


@pytest.mark.parametrize("role", ["technician", "inspector"])
def test_only_the_counter_changes_a_check_in(workshop: Workshop, number: str, role: str) -> None:
    with pytest.raises(NotAllowed):
        change(workshop, number, role)


def test_an_erased_customer_is_not_written_anew(workshop: Workshop, number: str) -> None:
    sent = standing(workshop, number)
    customer = workshop.see(jobs.read, "desk", number).customer.id
    workshop.do(customers.erase, "owner", customer, "asked for it")
    with pytest.raises(Conflict, match="customer_erased"):
        workshop.do(check_in_changes.change, "desk", number, sent)


def test_what_the_log_keeps_of_a_change_is_erased_with_its_customer(
    workshop: Workshop, number: str
) -> None:
    change(workshop, number, belongings=["a letter to Hans"])
    customer = workshop.see(jobs.read, "desk", number).customer.id
    workshop.do(customers.erase, "owner", customer, "asked for it")
    with workshop.rows() as (session, owner):
        values = session.scalars(scoped(session, owner, PersonalValue)).all()
    assert not [one for one in values if one.value and "Hans" in one.value]
    assert workshop.see(audit_check.verify, "owner").whole


def test_an_answer_that_holds_an_earlier_name_is_forgotten_too(
    workshop: Workshop, number: str
) -> None:
    customer = workshop.see(jobs.read, "desk", number).customer.id
    with workshop.database.write() as session:
        for key, told in {"earlier": "Åse Invented", "of others": "Bo"}.items():
            answer = StoredAnswer(200, json.dumps({"told": told}, ensure_ascii=False))
            idempotency.remember(session, workshop.people["desk"], key, "r", answer, workshop.now)
    change(workshop, number, customer={"name": "Wholly Another"})
    workshop.do(customers.erase, "owner", customer, "asked for it")
    with workshop.rows() as (session, owner):
        kept = session.scalars(scoped(session, owner, IdempotencyKey)).all()
        assert [row.key for row in kept] == ["of others"]


def test_a_closed_job_is_not_changed(workshop: Workshop, number: str) -> None:
    sent = standing(workshop, number)
    workshop.do(jobs.cancel, "desk", number, "taken away")
    with pytest.raises(Conflict, match="job_closed"):
        workshop.do(check_in_changes.change, "desk", number, sent)


def test_plate_and_colour_belong_to_whoever_owns_the_machine_by_now(
    workshop: Workshop, number: str
) -> None:
    workshop.do(jobs.cancel, "desk", number, "sold")
    form = check_in_form(customer={"name": "Bo Invented"}, machine_id="1")
    del form["machine"]
    other = workshop.do(check_in.check_in, "desk", form).job_number
    workshop.do(jobs.cancel, "desk", other, "later")
    workshop.do(jobs.reopen, "desk", number, "it came back")
    with pytest.raises(Conflict, match="machine_changed_hands"):
        change(workshop, number, machine={"plate": "XY-9", "colour": "grey"})
    assert change(workshop, number, storage_place="bay 9").storage_place == "bay 9"


def test_a_promise_that_is_past_may_stand_but_not_be_given(workshop: Workshop, number: str) -> None:
    workshop.now = datetime(2026, 3, 12, 9, 0, tzinfo=UTC)
    assert change(workshop, number, storage_place="bay 9").promised_on == date(2026, 3, 5)
    with pytest.raises(BadInput) as refusal:
        change(workshop, number, promised_on="2026-03-06")
    assert [one.code for one in refusal.value.problems] == ["in_the_past"]


WRONG: dict[str, tuple[Any, str]] = {
    "customer": ({"phone": "1"}, "customer.name"),
    "odometer_km": ("-5", "odometer_km"),
    "rideable": ("perhaps", "rideable"),
    "promised_on": ("2026-02-30", "promised_on"),
    "storage_place": ("a\x00b", "storage_place"),
    "belongings": (["x" * 201], "belongings.0"),
    "damage": ([{"zone": "sidecar"}], "damage.0.zone"),
    "claim": ({"insurer_id": "99"}, "claim.insurer_id"),
    "incident": ({"happened_on": "2026-04-01"}, "incident.happened_on"),
    "machine": ({"plate": "\u202e12"}, "machine.plate"),
    "version": ("x" * 81, "version"),
}


@pytest.mark.parametrize("name", WRONG)
def test_what_cannot_be_taken_is_refused_by_its_field(
    workshop: Workshop, number: str, name: str
) -> None:
    before = workshop.counts()
    value, field = WRONG[name]
    with pytest.raises(BadInput) as refusal:
        change(workshop, number, **{name: value})
    assert field in [one.field for one in refusal.value.problems]
    assert workshop.counts() == before


def test_today_is_the_shops_own_day(monkeypatch: pytest.MonkeyPatch) -> None:
    """Half an hour after midnight in a zone ahead of UTC: there it happened today."""
    form = VisitIn.model_validate({"incident": {"happened_on": "2026-03-03"}})
    before_midnight = datetime(2026, 3, 2, 23, 30, tzinfo=UTC)
    try:
        for zone, told in (("UTC", ["in_the_future"]), ("Etc/GMT-1", [])):
            monkeypatch.setenv("TZ", zone)
            time.tzset()
            assert [one.code for one in about_days(form, before_midnight)] == told
    finally:
        monkeypatch.undo()
        time.tzset()


def test_a_machine_keeps_its_own_record(workshop: Workshop, number: str) -> None:
    change(workshop, number, machine={"plate": "XY-9"})
    found = workshop.see(machines.find, "desk", "xy9")
    assert [one.frame_number for one in found] == ["ZZZTEST00A1000017"]
    assert workshop.see(machines.find, "desk", "ab12cd") == ()
