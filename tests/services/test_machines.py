"""Machines: known by their frame numbers, found with or without spaces and dashes."""

import pytest

from app.errors import BadInput, Conflict, NotAllowed, NotFound
from app.schemas.customer import CustomerIn
from app.schemas.machine import MachineIn
from app.services import customers, machines
from tests.services.workshop import Workshop


def machine(**changes: object) -> MachineIn:
    given = {
        "make": "Fjordmark", "model": "Skarv 700", "year": 2021,
        "frame_number": "zzz-test 00A10.00017", "plate": "AB-12 CD",
    }  # fmt: skip
    return MachineIn.model_validate({**given, **changes})


@pytest.fixture
def owner_id(workshop: Workshop) -> int:
    return workshop.do(customers.create, "desk", CustomerIn(name="Åse")).id


def test_a_frame_number_is_kept_closed_up_and_as_it_was_read(
    workshop: Workshop, owner_id: int
) -> None:
    made = workshop.do(machines.create, "desk", owner_id, machine())

    assert made.frame_number == "ZZZTEST00A1000017"
    assert made.frame_number_as_read == "zzz-test 00A10.00017"
    assert made.frame_number_warnings == ()
    assert workshop.see(machines.read, "technician", made.id) == made


@pytest.mark.parametrize(
    "sought",
    ["ab12cd", "AB 12-CD", "ab-12", "AB12-CD", "zzztest00a1000017", "ZZZ-TEST 00A", "skarv fjord"],
)
def test_a_machine_is_found_by_its_marks(workshop: Workshop, owner_id: int, sought: str) -> None:
    other = machine(frame_number="ANOTHER-1", plate="XX 99", model="Lom", make="Mosfell")
    workshop.do(machines.create, "desk", owner_id, other)
    made = workshop.do(machines.create, "desk", owner_id, machine())

    assert workshop.see(machines.find, "desk", sought) == (made,)


def test_a_customers_machines_are_listed(workshop: Workshop, owner_id: int) -> None:
    second = workshop.do(customers.create, "desk", CustomerIn(name="Bo")).id
    theirs = workshop.do(machines.create, "desk", owner_id, machine())
    workshop.do(machines.create, "desk", second, machine(frame_number="ANOTHER-1"))

    assert workshop.see(machines.find, "desk", customer_id=owner_id) == (theirs,)


def test_one_frame_number_is_one_machine(workshop: Workshop, owner_id: int) -> None:
    first = workshop.do(machines.create, "desk", owner_id, machine())
    other = workshop.do(machines.create, "desk", owner_id, machine(frame_number="ANOTHER-1"))

    with pytest.raises(Conflict, match="frame_number_known") as refusal:
        workshop.do(machines.create, "desk", owner_id, machine(frame_number="ZZZTEST00A1000017"))
    assert refusal.value.facts["machine"] == first.id
    with pytest.raises(Conflict, match="frame_number_known"):
        workshop.do(machines.update, "desk", other.id, machine())


def test_a_change_keeps_the_machine_findable(workshop: Workshop, owner_id: int) -> None:
    made = workshop.do(machines.create, "desk", owner_id, machine())

    changed = workshop.do(machines.update, "desk", made.id, machine(plate="ZZ 1", year=None))

    assert (changed.id, changed.plate, changed.year) == (made.id, "ZZ 1", None)
    assert workshop.see(machines.find, "desk", "zz1") == (changed,)
    assert workshop.see(machines.find, "desk", "ab12cd") == ()


def test_refusals(workshop: Workshop, owner_id: int) -> None:
    with pytest.raises(NotFound, match="no_such_customer"):
        workshop.do(machines.create, "desk", 99, machine())
    with pytest.raises(NotFound, match="no_such_machine"):
        workshop.see(machines.read, "desk", 99)
    with pytest.raises(BadInput, match="frame_number_length"):
        workshop.do(machines.create, "desk", owner_id, machine(frame_number="./."))
    with pytest.raises(NotAllowed):
        workshop.do(machines.create, "technician", owner_id, machine())
