"""Check-in: one form makes everything or nothing, and says all that is wrong at once."""

from datetime import datetime
from typing import Any

import pytest
from sqlalchemy.orm import Session

from app.errors import BadInput, NotAllowed
from app.records.scope import scoped
from app.records.tables import Event
from app.services import check_in, customers, jobs, machines
from app.services.permissions import Actor
from tests.services.forms import FRAME_NUMBER, check_in_form
from tests.services.workshop import Workshop


def problems(workshop: Workshop, form: Any) -> list[tuple[str, str]]:
    with pytest.raises(BadInput) as refusal:
        workshop.do(check_in.check_in, "desk", form)
    return [(problem.field, problem.code) for problem in refusal.value.problems]


def test_one_form_makes_customer_machine_claim_and_job(workshop: Workshop) -> None:
    done = workshop.do(check_in.check_in, "desk", check_in_form())

    job = workshop.see(jobs.read, "technician", done.job_number)
    assert done.job_number == "J-2026-0001"
    assert done.warnings == ()
    assert (job.status, job.waits_for, job.received_by) == ("checked_in", "technician", "Dora")
    assert job.customer.name == "Åse Invented"
    assert (job.machine.frame_number, job.machine.year) == (FRAME_NUMBER, 2021)
    assert job.machine.frame_number_as_read == "zzz test-00A1000017"
    assert (job.claim.insurer_name, job.claim.claim_number) == ("Invented Mutual", "CL/2026-77")
    assert (job.incident.impact_kind, job.incident.clock_direction) == ("front_on", 12)
    assert job.incident.happened_on is not None
    assert job.incident.account == "Ran into the back of a van.\nNobody was hurt."
    assert (job.rideable, job.odometer_km, job.storage_place) == ("no", 18230, "bay 3")
    assert job.visible_damage == ("fork bent", "left handlebar broken")
    assert job.belongings == ("one key", "top case")
    assert (job.authorised_by, job.authorised_scope) == ("Åse Invented", "measure and report")
    assert job.privacy_notice_at == job.received_at == workshop.now


def test_the_least_that_is_needed_is_a_customer_and_a_machine(workshop: Workshop) -> None:
    form = {
        "customer": {"name": "Bo"},
        "machine": {"make": "Fjordmark", "model": "Lom", "frame_number": "LOM 17"},
    }

    done = workshop.do(check_in.check_in, "desk", form)

    job = workshop.see(jobs.read, "desk", done.job_number)
    assert (job.rideable, job.incident.impact_kind) == ("not_tried", "unknown")
    assert (job.claim.insurer_id, job.claim.claim_number, job.odometer_km) == (None, None, None)
    assert job.privacy_notice_at is None
    assert [warning.code for warning in done.warnings] == ["frame_number_not_17"]


def test_numbers_go_up_by_one_in_a_year_and_begin_again_in_the_next(workshop: Workshop) -> None:
    numbers = []
    for n, year in enumerate((2026, 2026, 2027)):
        workshop.now = workshop.now.replace(year=year)
        machine = {"make": "Fjordmark", "model": "Lom", "frame_number": f"NUMBER-{n}"}
        done = workshop.do(check_in.check_in, "desk", check_in_form(machine=machine))
        numbers.append(done.job_number)

    assert numbers == ["J-2026-0001", "J-2026-0002", "J-2027-0001"]


def test_a_known_customer_brings_a_known_machine_again(workshop: Workshop) -> None:
    first = workshop.do(check_in.check_in, "desk", check_in_form())
    workshop.do(jobs.hand_over, "desk", first.job_number, "Åse")
    before = workshop.counts()

    form = check_in_form(customer_id=str(first.customer_id), machine_id=first.machine_id)
    del form["customer"], form["machine"]
    second = workshop.do(check_in.check_in, "desk", form)

    assert (second.customer_id, second.machine_id) == (first.customer_id, first.machine_id)
    assert second.job_number == "J-2026-0002"
    after = workshop.counts()
    assert {name: after[name] - before[name] for name in ("customer", "machine", "job")} == {
        "customer": 0, "machine": 0, "job": 1,
    }  # fmt: skip


def test_a_frame_number_typed_again_is_the_same_machine_of_the_same_customer(
    workshop: Workshop,
) -> None:
    first = workshop.do(check_in.check_in, "desk", check_in_form())
    workshop.do(jobs.hand_over, "desk", first.job_number, "Åse")

    form = check_in_form(customer_id=first.customer_id)
    del form["customer"]
    form["machine"] = {**form["machine"], "plate": "XY 99 ZZ"}
    second = workshop.do(check_in.check_in, "desk", form)

    assert second.machine_id == first.machine_id
    assert workshop.see(machines.read, "desk", first.machine_id).plate == "XY 99 ZZ"


def test_a_machine_with_another_customer_has_changed_hands(workshop: Workshop) -> None:
    first = workshop.do(check_in.check_in, "desk", check_in_form())
    workshop.do(jobs.hand_over, "desk", first.job_number, "Åse")

    form = check_in_form(customer={"name": "Buyer Invented"}, machine_id=first.machine_id)
    del form["machine"]
    second = workshop.do(check_in.check_in, "desk", form)

    assert second.customer_id != first.customer_id
    machine = workshop.see(machines.read, "desk", first.machine_id)
    assert machine.customer_id == second.customer_id
    kept = workshop.see(jobs.read, "desk", first.job_number)
    assert kept.customer.id == first.customer_id
    with workshop.rows() as (session, actor):
        events = [event.what for event in session.scalars(scoped(session, actor, Event))]
    assert events.count("machine.changed_hands") == 1


def test_every_problem_is_listed_at_once(workshop: Workshop) -> None:
    first = workshop.do(check_in.check_in, "desk", check_in_form())
    form = check_in_form(
        customer={"phone": "1"},
        odometer_km="much",
        rideable="perhaps",
        promised_on="2026-03-01",
        claim={"insurer_id": 99},
        incident={"happened_on": "2026-03-03", "clock_direction": 13},
        visible_damage=["fine", 7],
        colour="grey",
    )

    assert set(problems(workshop, form)) == {
        ("customer.name", "missing"),
        ("odometer_km", "wrong_type"),
        ("rideable", "not_one_of"),
        ("promised_on", "in_the_past"),
        ("claim.insurer_id", "no_such_insurer"),
        ("incident.happened_on", "in_the_future"),
        ("incident.clock_direction", "too_large"),
        ("visible_damage.1", "wrong_type"),
        ("colour", "unknown_key"),
        ("machine.frame_number", "frame_number_of_another_customer"),
        ("machine.frame_number", "machine_here_already"),
    }
    assert first.job_number == "J-2026-0001"


RECORD_PROBLEMS: dict[str, tuple[dict[str, Any], tuple[str, str]]] = {
    "no customer": ({"customer": None}, ("customer", "missing")),
    "an empty group is no customer": ({"customer": {"name": " "}}, ("customer", "missing")),
    "a customer twice": ({"customer_id": 1}, ("customer", "known_or_new")),
    "no machine": ({"machine": {}}, ("machine", "missing")),
    "a machine twice": ({"machine_id": 1}, ("machine", "known_or_new")),
    "unknown customer": ({"customer": None, "customer_id": 5}, ("customer_id", "no_such_customer")),
    "unknown machine": ({"machine": None, "machine_id": 5}, ("machine_id", "no_such_machine")),
    "an insurer twice": (
        {"claim": {"insurer_id": 1, "insurer": {"name": "X"}}}, ("claim.insurer", "known_or_new")
    ),
    "a frame number of dashes": (
        {"machine": {"make": "A", "model": "B", "frame_number": "- - -"}},
        ("machine.frame_number", "frame_number_length"),
    ),
    "a frame number too long": (
        {"machine": {"make": "A", "model": "B", "frame_number": "A" * 26}},
        ("machine.frame_number", "frame_number_length"),
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", RECORD_PROBLEMS)
def test_what_only_the_records_can_tell_is_refused(workshop: Workshop, name: str) -> None:
    changes, expected = RECORD_PROBLEMS[name]

    assert expected in problems(workshop, check_in_form(**changes))
    assert workshop.counts()["job"] == 0


def test_an_erased_customer_cannot_bring_a_machine(workshop: Workshop) -> None:
    made = workshop.do(customers.create, "desk", check_in.read_form(check_in_form()).customer)
    workshop.do(customers.erase, "owner", made.id, "asked for it")

    form = check_in_form(customer_id=made.id, customer=None)
    assert problems(workshop, form) == [("customer_id", "customer_erased")]


def test_a_machine_that_is_here_is_not_taken_in_twice(workshop: Workshop) -> None:
    first = workshop.do(check_in.check_in, "desk", check_in_form())
    form = check_in_form(customer_id=first.customer_id, customer=None)

    assert problems(workshop, form) == [("machine.frame_number", "machine_here_already")]
    form = {**form, "machine": None, "machine_id": first.machine_id}
    assert problems(workshop, form) == [("machine_id", "machine_here_already")]


ODD_FRAME_NUMBERS = {
    "1ZZTEST00A1000017": "frame_number_check_digit",
    "ZZZTESTO0A1000017": "frame_number_letter",
    "ЗЗЗТЕСТ00А1000017": "frame_number_character",
    "17": "frame_number_length",
}


@pytest.mark.parametrize("number", ODD_FRAME_NUMBERS)
def test_an_odd_frame_number_is_warned_about_and_taken(workshop: Workshop, number: str) -> None:
    machine = {"make": "Fjordmark", "model": "Lom", "frame_number": number}

    done = workshop.do(check_in.check_in, "desk", check_in_form(machine=machine))

    assert [one.code for one in done.warnings] == [ODD_FRAME_NUMBERS[number]]
    kept = workshop.see(machines.read, "desk", done.machine_id)
    assert kept.frame_number == number
    assert kept.frame_number_warnings == tuple(
        warning for warning in done.warnings if warning.field == "frame_number"
    )


@pytest.mark.parametrize("fault", ["machine", "claim", "number_counter", "job", "event"])
def test_a_fault_half_way_leaves_nothing_behind(
    workshop: Workshop, fault: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = workshop.counts()
    with workshop.database.engine.connect() as connection:
        connection.exec_driver_sql(
            f"CREATE TRIGGER break_{fault} BEFORE INSERT ON {fault} "
            f"WHEN {fault_condition(fault)} BEGIN SELECT RAISE(ABORT, 'injected'); END"
        )
        connection.commit()

    with pytest.raises(Exception, match="injected"):
        workshop.do(check_in.check_in, "desk", check_in_form())

    assert workshop.counts() == before


def fault_condition(fault: str) -> str:
    """The last event of a check-in is the job's own, when all else is written."""
    return "NEW.what = 'job.checked_in'" if fault == "event" else "1"


def check_in_and_fail(session: Session, actor: Actor, form: Any, now: datetime) -> None:
    check_in.check_in(session, actor, form, now)
    raise ZeroDivisionError


def test_after_a_fault_the_number_is_given_again(workshop: Workshop) -> None:
    form = check_in.read_form(check_in_form())
    with pytest.raises(ZeroDivisionError):
        workshop.do(check_in_and_fail, "desk", form)

    assert workshop.do(check_in.check_in, "desk", form).job_number == "J-2026-0001"


def test_only_the_counter_checks_in(workshop: Workshop) -> None:
    for role in ("technician", "inspector"):
        with pytest.raises(NotAllowed):
            workshop.do(check_in.check_in, role, check_in_form())
    assert workshop.do(check_in.check_in, "owner", check_in_form()).job_number == "J-2026-0001"


def test_damage_is_kept_by_zone_and_told_in_words(workshop: Workshop) -> None:
    damage = [
        {"zone": "fork", "side": "left", "look": "bent", "note": "at the lower yoke"},
        {"zone": "tank", "look": "dented"},
        {"zone": "tail"},
    ]
    form = check_in_form(damage=damage, visible_damage=["mirror lost on the road"])
    done = workshop.do(check_in.check_in, "desk", form)
    job = workshop.see(jobs.read, "desk", done.job_number)
    assert [(one.zone, one.side, one.look) for one in job.damage] == [
        ("fork", "left", "bent"), ("tank", None, "dented"), ("tail", None, None),
    ]  # fmt: skip
    assert job.visible_damage == (
        "fork, left: bent (at the lower yoke)",
        "fuel tank: dented",
        "tail and rear light: damaged",
        "mirror lost on the road",
    )


def test_an_unknown_zone_is_refused_by_name(workshop: Workshop) -> None:
    form = check_in_form(damage=[{"zone": "fork"}, {"zone": "sidecar", "look": "folded"}])
    with pytest.raises(BadInput) as refusal:
        workshop.do(check_in.check_in, "desk", form)
    found = [(one.field, one.code) for one in refusal.value.problems]
    assert found == [("damage.1.zone", "not_one_of"), ("damage.1.look", "not_one_of")]


def test_places_are_offered_again(workshop: Workshop) -> None:
    workshop.do(check_in.check_in, "desk", check_in_form())
    other = {"make": "Mosfell", "model": "Lom", "frame_number": "OTHER-1"}
    workshop.do(check_in.check_in, "desk", check_in_form(machine=other, storage_place="bay 1"))
    assert workshop.see(check_in.storage_places, "desk") == ("bay 1", "bay 3")
