"""What a machine is, put right after check-in: with a reason, old and new value on record."""

import json
from datetime import timedelta
from typing import Any

import pytest

from app.errors import BadInput, Conflict, NotAllowed
from app.records.scope import scoped
from app.records.tables import Event, PersonalValue
from app.services import check_in, customers, jobs, machine_changes, machines
from app.services.audit_check import verify
from tests.services.certifying import Bench
from tests.services.forms import check_in_form
from tests.services.workshop import Workshop


@pytest.fixture
def number(workshop: Workshop) -> str:
    return workshop.do(check_in.check_in, "desk", check_in_form()).job_number


def put_right(workshop: Workshop, number: str, role: str = "desk", **changes: Any) -> Any:
    job = workshop.see(jobs.read, "desk", number)
    stands = {name: getattr(job.machine, name) for name in machine_changes.FIELDS}
    sent = {"version": job.check_in_version, "reason": "misread by one letter", **stands, **changes}
    return workshop.do(machine_changes.change, role, number, sent)


def test_old_and_new_stand_on_record_with_who_when_and_why(workshop: Workshop, number: str) -> None:
    before = workshop.see(jobs.read, "desk", number).machine
    put_right(workshop, number, frame_number="zzz test-00A1000099", year=2019, plate="XY-77")

    after = workshop.see(jobs.read, "desk", number).machine
    assert (after.frame_number, after.year, after.plate) == ("ZZZTEST00A1000099", 2019, "XY-77")
    assert (after.make, after.model, after.colour) == (before.make, before.model, before.colour)
    (told,) = workshop.see(machine_changes.listing, "technician", number)
    assert told.before == {
        "year": before.year, "frame_number": before.frame_number, "plate": before.plate,
    }  # fmt: skip
    assert told.after == {"year": 2019, "frame_number": "ZZZTEST00A1000099", "plate": "XY-77"}
    assert (told.at, told.reason) == (workshop.now, "misread by one letter")
    assert told.by == workshop.people["desk"].name
    assert workshop.see(machines.find, "desk", "00a1000099")[0].id == after.id


def test_the_log_tells_the_frame_number_and_seals_plate_and_reason(
    workshop: Workshop, number: str
) -> None:
    before = workshop.see(jobs.read, "desk", number).machine
    put_right(workshop, number, frame_number="ZZZTEST00A1000099", plate="XY-77")
    with workshop.rows() as (session, actor):
        rows = scoped(session, actor, Event).where(Event.what == "job.machine_put_right")
        event = session.scalars(rows).one()
        said = json.loads(event.public)
        assert said["frame_number_before"] == before.frame_number
        assert said["frame_number_after"] == "ZZZTEST00A1000099"
        assert "XY-77" not in event.public
        assert set(json.loads(event.personal)) == {"plate_before", "plate_after", "reason"}

    workshop.do(customers.erase, "owner", before.customer_id, "asked for it")
    (told,) = workshop.see(machine_changes.listing, "desk", number)
    assert (told.before, told.after, told.reason) == ({}, {}, None)
    with workshop.rows() as (session, actor):
        values = session.scalars(scoped(session, actor, PersonalValue)).all()
        assert not any("XY-77" in (one.value or "") for one in values)
        assert verify(session, actor).whole


def test_what_is_refused(workshop: Workshop, number: str) -> None:
    with pytest.raises(BadInput, match="missing"):
        put_right(workshop, number, year=2019, reason="")
    with pytest.raises(Conflict, match="machine_as_on_record"):
        put_right(workshop, number)
    with pytest.raises(Conflict, match="changed_meanwhile"):
        put_right(workshop, number, year=2019, version="0")
    with pytest.raises(NotAllowed):
        put_right(workshop, number, "technician", year=2019)
    other = check_in_form(machine={"make": "M", "model": "O", "frame_number": "OTHER1"})
    workshop.do(check_in.check_in, "desk", other)
    with pytest.raises(Conflict, match="frame_number_known"):
        put_right(workshop, number, frame_number="other-1")
    assert workshop.see(machine_changes.listing, "desk", number) == ()
    workshop.do(jobs.cancel, "desk", number, "sold")
    with pytest.raises(Conflict, match="job_closed"):
        put_right(workshop, number, year=2019)


def test_a_certificate_stays_as_it_was_and_a_new_one_names_the_machine_anew(done: Bench) -> None:
    old = done.issue("report")
    before = done.pdf(old.number)
    done.workshop.now += timedelta(minutes=5)
    put_right(done.workshop, done.number, frame_number="ZZZTEST00A1000099")

    assert done.pdf(old.number) == before
    job = done.workshop.see(jobs.read, "desk", done.number)
    assert job.certificates[0].status == "valid"
    assert (job.status, job.waits_for) == ("to_sign", "inspector")
    assert job.outdated is not None
    (one,) = job.outdated.differences
    assert (one.field, one.on_record) == ("frame_number", "ZZZTEST00A1000099")

    done.workshop.now += timedelta(minutes=5)
    put_right(done.workshop, done.number, frame_number=one.certified)
    assert done.workshop.see(jobs.read, "desk", done.number).outdated is None, "it was put back"
