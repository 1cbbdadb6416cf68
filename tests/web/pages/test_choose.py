"""Choosing the reference: the machine in view, one order, and never another machine's unawares."""

import json
import re
from typing import Any

import pytest

from app.services import references
from tests.databases import NOW
from tests.web.shop import Shop, Visitor, measured_job, new_job, seed_text, text_of

OWN = {"make": "Fjordmark", "model": "Skarv 700", "frame_number": "CHOOSE-1"}
ROW = re.compile(r'name="(?:reference|instrument)" value="(\d+)"')


@pytest.fixture
def technician(shop: Shop) -> Visitor:
    return shop.signed_in("technician")


def add(shop: Shop, make: str, model: str, years: str) -> None:
    """One more reference, with the values of the file to try by hand."""
    document: dict[str, Any] = json.loads(seed_text("reference.json"))
    document["machine"] = {"make": make, "model": model, "years": years}
    with shop.database.write() as session:
        references.create(session, shop.people["owner"], document, NOW)


@pytest.fixture
def number(shop: Shop) -> str:
    """A Skarv 700 of 2021, beside references of it, of its later years and of others."""
    add(shop, "Fjordmark", "Skarv 700", "2023-2025")
    add(shop, "Aldermark", "Alk 500", "2019-2022")
    add(shop, "fjordmark", " skarv  700", "2019-2022")
    return new_job(shop, machine={**OWN, "year": "2021"})


def test_the_machine_stands_on_the_page_and_its_own_references_come_first(
    technician: Visitor, number: str
) -> None:
    for place in ("reference", "instrument"):
        said = text_of(technician.get(f"/jobs/{number}/{place}").text)
        for told in ("Fjordmark Skarv 700", "2021", "CHOOSE1"):
            assert told in said
    page = technician.get(f"/jobs/{number}/reference").text
    assert ROW.findall(page)[:2] == ["4", "2"]
    rows = [text_of(row) for row in page.split("<li>") if 'name="reference"' in row]
    assert "another" not in rows[0]
    assert "other years" in rows[1]
    assert all("another make, another model" in row for row in rows[2:])


def test_nothing_chosen_shows_the_same_list_in_the_same_order(
    technician: Visitor, number: str
) -> None:
    for place in ("reference", "instrument"):
        first = ROW.findall(technician.get(f"/jobs/{number}/{place}").text)
        answer = technician.post(f"/jobs/{number}/{place}")
        assert answer.status_code == 422
        assert ROW.findall(answer.text) == first
    sought = technician.post(f"/jobs/{number}/reference", {"q": "aldermark"})
    assert ROW.findall(sought.text) == ["3"]


@pytest.mark.parametrize(("reference", "name"), [("3", "Aldermark Alk 500"), ("2", "2023-2025")])
def test_one_of_another_machine_is_taken_with_a_reason_alone(
    shop: Shop, technician: Visitor, number: str, reference: str, name: str
) -> None:
    place, before = f"/jobs/{number}/reference", shop.digest()
    answer = technician.post(place, {"reference": reference})
    said = text_of(answer.text)
    assert answer.status_code == 422
    assert "is not of this machine, Fjordmark Skarv 700 (2021);" in said
    assert name in said
    assert 'href="#because"' in answer.text
    assert f'value="{reference}" checked' in answer.text
    assert shop.digest() == before
    sent = {"reference": reference, "because": "same frame, other name"}
    assert technician.post(place, sent).headers["location"] == f"/jobs/{number}"
    job = text_of(technician.get(f"/jobs/{number}").text)
    assert "The reference is not of this machine: same frame, other name" in job


def test_ones_own_is_taken_without_a_word_and_may_be_changed_before_measuring(
    technician: Visitor, number: str
) -> None:
    assert "Change the reference" not in technician.get(f"/jobs/{number}").text
    sent = {"reference": "4"}
    assert technician.post(f"/jobs/{number}/reference", sent).status_code == 303
    assert technician.post(f"/jobs/{number}/instrument", {"instrument": "1"}).status_code == 303
    page = technician.get(f"/jobs/{number}").text
    assert f'href="/jobs/{number}/reference">Change the reference</a>' in page
    assert f'href="/jobs/{number}/instrument">Change the instrument</a>' in page
    assert "is not of this machine" not in page


def test_after_a_measurement_only_the_instrument_may_be_changed(
    shop: Shop, technician: Visitor
) -> None:
    page = technician.get(f"/jobs/{measured_job(shop)}").text
    assert "Change the reference" not in page
    assert "Change the instrument" in page


def test_a_year_that_is_not_known_is_told_where_it_decides(shop: Shop, technician: Visitor) -> None:
    add(shop, "Fjordmark", "Skarv 700", "2023-2025")
    number = new_job(shop, machine=OWN)
    told = "The year of this machine is not on record"
    assert told not in technician.get(f"/jobs/{number}/reference").text
    add(shop, "Fjordmark", "Skarv 700", "2019-2022")
    assert told in technician.get(f"/jobs/{number}/reference").text
