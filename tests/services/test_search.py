"""Searching: words from their beginning, plates and numbers closed up, the exact one first."""

import pytest

from app.records.scope import scoped
from app.records.search_text import search_text
from app.records.tables import Customer
from app.services import check_in, jobs, machines, recognising, today
from app.services.recognising import Typed
from app.services.search import found_by
from tests.databases import NOW
from tests.services.forms import check_in_form
from tests.services.workshop import Workshop

PLATES = ("IN 10 VE", "IN 01 AB", "IN-10-XY", "VE 10 IN")


def test_a_percent_sign_is_only_a_sign_between_words(workshop: Workshop) -> None:
    with workshop.database.write() as session:
        for name in ("100% right", "1000 right", "under_score", "underxscore"):
            session.add(
                Customer(shop_id=1, name=name, search_text=search_text(name), created_at=NOW)
            )
    found = {}
    with workshop.database.read() as session:
        for typed in ("%", "_", "right", "und score", "nder"):
            query = scoped(session, 1, Customer).where(found_by(Customer.search_text, typed))
            found[typed] = [row.name for row in session.scalars(query)]
    assert found == {
        "%": [], "_": [], "right": ["100% right", "1000 right"], "und score": ["under_score"],
        "nder": [],
    }  # fmt: skip


@pytest.fixture
def numbers(workshop: Workshop) -> dict[str, str]:
    """Machines whose customers are all said to be invented, as in a demonstration."""
    found = {}
    for place, plate in enumerate(PLATES):
        machine = {
            "make": "Fjordmark",
            "model": "Skarv 700",
            "frame_number": f"ZZZTEST{place}{place}77{place}4455",
            "plate": plate,
        }
        form = check_in_form(
            machine=machine,
            customer={"name": f"Mønster {place} (invented)"},
            claim={"claim_number": f"VE/{place}-IN"},
        )
        found[plate] = workshop.do(check_in.check_in, "desk", form).job_number
    return found


def listed(workshop: Workshop, text: str, **more: object) -> list[str]:
    found = workshop.see(today.today, "desk", workshop.now.date(), text, **more)
    return [line.plate or "" for line in found.lines]


@pytest.mark.parametrize("text", ["IN 10 VE", "in10ve", "In-10-Ve", " IN  10ve "])
def test_a_plate_is_found_however_it_is_typed_and_stands_first(
    workshop: Workshop, numbers: dict[str, str], text: str
) -> None:
    everything = ["IN 10 VE", "IN 01 AB", "IN-10-XY", "VE 10 IN"]
    wide = listed(workshop, text, widely=True)
    assert wide[0] == "IN 10 VE"
    found = workshop.see(today.today, "desk", workshop.now.date(), text)
    assert [line.plate for line in found.lines] == ["IN 10 VE"], "what fits exactly, alone"
    assert (found.total, found.left_out) == (1, len(wide) - 1)
    assert dict(found.waiting) == {"technician": 1}
    assert set(wide) <= set(everything)
    workshop.do(jobs.hand_over, "desk", numbers["IN 10 VE"], "Invented")
    assert listed(workshop, text) == ["IN 10 VE"]
    assert listed(workshop, text, widely=True) == wide


@pytest.mark.parametrize(
    ("text", "plates"),
    [
        ("IN 01", ["IN 01 AB"]),
        ("in01", ["IN 01 AB"]),
        ("IN 10", ["IN 10 VE", "IN-10-XY", "VE 10 IN"]),
        ("in10", ["IN 10 VE", "IN-10-XY"]),
        ("10 xy", ["IN-10-XY"]),
        ("vented", []),
        ("monster 10 xy", ["IN-10-XY"]),
        ("VE/3-IN", ["VE 10 IN"]),
        ("ve3in", ["VE 10 IN"]),
        ("ZZZ TEST 00 77 0 4455", ["IN 10 VE"]),
        ("7724455", ["IN-10-XY"]),
        ("4456", []),
    ],
)
def test_words_are_found_from_their_beginning_and_numbers_by_their_end(
    workshop: Workshop, numbers: dict[str, str], text: str, plates: list[str]
) -> None:
    assert listed(workshop, text) == plates


def test_a_job_number_stands_before_what_it_is_the_beginning_of(
    workshop: Workshop, numbers: dict[str, str]
) -> None:
    assert listed(workshop, numbers["IN-10-XY"]) == ["IN-10-XY"]
    assert listed(workshop, numbers["IN-10-XY"].replace("-", " ").lower()) == ["IN-10-XY"]


@pytest.mark.parametrize("name", ["monster", "MØNSTER", "Mönster"])
def test_a_name_is_known_without_its_marks(
    workshop: Workshop, numbers: dict[str, str], name: str
) -> None:
    found = workshop.see(recognising.recognised, "desk", Typed(name=name))
    assert {one.customer.name for one in found} == {
        f"Mønster {place} (invented)" for place in range(len(PLATES))
    }


def test_a_mail_lists_no_job_where_a_name_fits(workshop: Workshop) -> None:
    names = {"AA 1": "Åse Exåmple", "BB 2": "Mina Invented", "CC 3": "Nora Invented"}
    for place, (plate, name) in enumerate(names.items()):
        customer = {"name": name, "email": f"n{place}@example.invalid"}
        machine = {"make": "Fjordmark", "model": "Skarv", "frame_number": f"ZZZTEST0{place}551"}
        form = check_in_form(customer=customer, machine={**machine, "plate": plate}, claim={})
        workshop.do(check_in.check_in, "desk", form)
    assert listed(workshop, "example") == ["AA 1"]
    assert listed(workshop, "example skarv") == ["AA 1"]
    assert sorted(listed(workshop, "@example")) == list(names)
    assert listed(workshop, "n1") == ["BB 2"], "the mail, as nothing else fits"
    assert listed(workshop, "nora example") == ["CC 3"]


def test_the_exact_plate_is_known_before_newer_ones_that_begin_alike(
    workshop: Workshop, numbers: dict[str, str]
) -> None:
    (first, *_others) = workshop.see(recognising.recognised, "desk", Typed(plate="in10"))
    assert first.machine is not None
    assert first.machine.plate == "IN-10-XY"
    (only,) = workshop.see(recognising.recognised, "desk", Typed(plate="in 10-ve"))
    assert only.machine is not None
    assert (only.machine.plate, only.by_mark) == ("IN 10 VE", True)
    assert workshop.see(machines.find, "desk", "in10ve")[0].plate == "IN 10 VE"
