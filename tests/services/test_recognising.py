"""Who is known already, by what the desk has typed so far."""

import pytest

from app.schemas.customer import CustomerIn
from app.services import check_in, customers, jobs, recognising
from app.services.recognising import Recognised, Typed
from tests.services.forms import FRAME_NUMBER, check_in_form
from tests.services.workshop import Workshop


@pytest.fixture
def number(workshop: Workshop) -> str:
    return workshop.do(check_in.check_in, "desk", check_in_form()).job_number


def found(workshop: Workshop, **typed: str) -> tuple[Recognised, ...]:
    return workshop.see(recognising.recognised, "desk", Typed(**typed))


@pytest.mark.parametrize("name", ["ase", "ÅSE", "Inv", "as"])
def test_a_customer_is_known_by_the_beginning_of_a_name(
    workshop: Workshop, number: str, name: str
) -> None:
    with_machine, without = found(workshop, name=name)
    assert with_machine.machine is not None
    assert (with_machine.machine.frame_number, with_machine.here_as) == (FRAME_NUMBER, number)
    assert (without.customer.name, without.machine) == ("Åse Invented", None)


@pytest.mark.parametrize(
    "typed",
    [
        {"plate": "ab12"},
        {"frame_number": "ZZZ TEST-00"},
        {"phone": "12 34"},
    ],
)
def test_and_by_plate_frame_number_and_telephone(
    workshop: Workshop, number: str, typed: dict[str, str]
) -> None:
    first = found(workshop, **typed)[0]
    assert first.customer.name == "Åse Invented"
    assert first.by_mark is ("phone" not in typed)


@pytest.mark.parametrize("typed", [{}, {"name": "a"}, {"plate": "AB1"}, {"name": "nobody"}])
def test_too_little_or_something_else_finds_nobody(
    workshop: Workshop, number: str, typed: dict[str, str]
) -> None:
    assert found(workshop, **typed) == ()


@pytest.fixture
def crowd(workshop: Workshop) -> None:
    """The one who is sought, and eight newer ones whose mail holds a word of the name, three of
    them with a name that begins alike."""
    with workshop.database.write() as session:
        names = ["Åse Example", *(f"Invented {n}" for n in range(5))]
        for name in (*names, "Exampleson", "Exämple", "Example"):
            mail = f"{'x' * len(name)}@example.invalid"
            form = CustomerIn(name=name, email=mail, address="Row Street 1")
            customers.create(session, workshop.people["desk"], form, workshop.now)


@pytest.mark.parametrize("typed", ["example", "EXÅMPLE", "exa"])
def test_names_stand_before_a_mail_that_holds_the_same_word(
    workshop: Workshop, crowd: None, typed: str
) -> None:
    shown = found(workshop, name=typed)
    names = [one.customer.name for one in shown]
    assert names == ["Example", "Exämple", "Exampleson", "Åse Example"]
    assert {one.fits_by for one in shown} == {""}
    assert workshop.see(recognising.left_out, "desk", Typed(name=typed)) == 0
    assert [one.customer.name for one in found(workshop, name="ase exam")] == ["Åse Example"]


@pytest.mark.parametrize(
    ("typed", "by", "left"),
    [("@example", "email", 4), ("example.invalid", "email", 4), ("row", "address", 4),
     ("invented", "", 0)],
)  # fmt: skip
def test_where_no_name_fits_or_a_mail_is_typed_what_fits_is_told_and_how_many_more(
    workshop: Workshop, crowd: None, typed: str, by: str, left: int
) -> None:
    shown = found(workshop, name=typed)
    assert len(shown) == recognising.MOST
    assert workshop.see(recognising.left_out, "desk", Typed(name=typed)) == left
    assert by in {one.fits_by for one in shown}


def test_a_machine_that_has_left_is_not_here(workshop: Workshop, number: str) -> None:
    workshop.do(jobs.hand_over, "desk", number, "Åse")
    assert found(workshop, plate="AB-12 CD")[0].here_as is None


def test_an_erased_customer_is_found_by_no_name_but_the_machine_by_its_frame(
    workshop: Workshop, number: str
) -> None:
    customer = workshop.see(jobs.read, "desk", number).customer.id
    workshop.do(customers.erase, "owner", customer, "she asked for it")
    assert found(workshop, name="ase") == ()
    (left,) = found(workshop, frame_number=FRAME_NUMBER)
    assert (left.customer.name, left.by_mark) == (None, True)
