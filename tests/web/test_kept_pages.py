"""Pages that are made once a change: never somebody else's, never of yesterday, keys always new."""

import re

import pytest

from app.services import jobs, references
from tests.databases import statements_of
from tests.web.pages.taking import key_of, put, words
from tests.web.shop import Shop, Visitor, ready_job, seed_text

TOKEN = re.compile(r'name="form_token" value="([0-9a-f]+)"')
STEP = "/steps/pivot.left"
MOST_QUERIES = 3
"""Who asks, with which roles, and whether anything changed."""


@pytest.fixture
def technician(shop: Shop) -> Visitor:
    return shop.signed_in("technician")


@pytest.fixture
def place(shop: Shop, technician: Visitor) -> str:
    """A measurement with a point, so that there is something to know a change by."""
    made: str = technician.post(f"/jobs/{ready_job(shop)}/drafts", {"phase": "before"}).headers[
        "location"
    ]
    put(technician, made, "pivot.right", {"x": "1", "y": "2", "z": "3"})
    return made


def queries(shop: Shop, visitor: Visitor, path: str) -> int:
    """How many statements one page takes."""
    with statements_of(shop.database) as from_here:
        visitor.get(path)
    return len([one for one in from_here if one.startswith("SELECT")])


def test_the_second_time_a_page_takes_few_queries(
    shop: Shop, technician: Visitor, place: str
) -> None:
    technician.get(place)
    first = technician.get(place + STEP)
    assert queries(shop, technician, place + STEP) <= MOST_QUERIES
    assert queries(shop, technician, place) <= MOST_QUERIES + 2, "and whether it was sent back"
    again = technician.get(place + STEP)
    assert key_of(first) != key_of(again)
    assert first.text.replace(key_of(first), "") == again.text.replace(key_of(again), "")


def test_every_session_gets_its_own_token(shop: Shop, technician: Visitor, place: str) -> None:
    other = shop.signed_in("technician")
    tokens = [set(TOKEN.findall(one.get(place + STEP).text)) for one in (technician, other)]
    assert len(tokens[0]) == len(tokens[1]) == 1
    assert tokens[0].isdisjoint(tokens[1])
    form = {"form_token": next(iter(tokens[1])), "request_key": "k", "readings.0.x": "1"}
    assert technician.post(f"{place}{STEP}", form).status_code == 403


def test_nobody_sees_the_page_of_another_person(
    shop: Shop, technician: Visitor, place: str
) -> None:
    assert "Technician" in words(technician.get(place + STEP))
    inspector = shop.signed_in("inspector")
    page = words(inspector.get(place + STEP))
    assert "Inspector" in page
    assert "Technician Sign out" not in page
    boss = shop.signed_in("boss").get(place + STEP)
    assert boss.status_code == 200
    assert "Save this point" not in words(boss)
    assert shop.signed_in("desk").get(place + STEP).status_code == 403
    assert shop.visitor().get(place + STEP).status_code == 303


def test_whatever_changes_is_seen_at_once(shop: Shop, technician: Visitor, place: str) -> None:
    assert "0 of 1 point" in words(technician.get(place + STEP))
    put(technician, place, "pivot.left", {"x": "4", "y": "5", "z": "6"})
    assert "1 of 1 point" in words(technician.get(place + STEP))
    technician.post(f"{place}{STEP}/aim", {"live": "1"})
    assert "Points that the instrument sends go to this step" in words(technician.get(place + STEP))
    technician.post(f"{place}{STEP}/pause", {"request_key": "p", "sure": "1"})
    assert "Paused since" in words(technician.get(place + STEP))
    technician.post(f"{place}{STEP}/resume", {"request_key": "r"})
    assert "Paused since" not in words(technician.get(place + STEP))


def test_another_reference_makes_another_page(shop: Shop, technician: Visitor, place: str) -> None:
    before = words(technician.get(place))
    assert "Control point" not in before
    owner, now, number = shop.people["owner"], shop.clock["now"], place.split("/")[2]
    with shop.database.write() as session:
        references.create(session, owner, seed_text("full-reference.json"), now)
        jobs.fix_reference(session, owner, number, 2, now)
    assert "Control point" in words(technician.get(place))


def test_a_session_that_ended_sees_nothing(shop: Shop, technician: Visitor, place: str) -> None:
    copy = shop.visitor()
    copy.cookies.set("sid", technician.cookies["sid"])
    assert copy.get(place + STEP).status_code == 200
    technician.post("/sign-out")
    assert copy.get(place + STEP).status_code == 303
