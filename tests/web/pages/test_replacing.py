"""A measurement that takes the place of another: chosen as it is begun, put right until it ends."""

import re
from datetime import timedelta

import pytest

from app.schemas.correction import CorrectionIn
from app.services import corrections, drafts
from app.services.drafts import DraftView
from tests.web.shop import Shop, Visitor, measured_job, seed_text, text_of

FILE = {"document": ("x.json", seed_text("before-head-bent.json").encode(), "application/json")}
WHY = "the rig had slipped"


@pytest.fixture
def technician(shop: Shop) -> Visitor:
    return shop.signed_in("technician")


@pytest.fixture
def number(shop: Shop) -> str:
    """A job that was measured once, before the correction."""
    return measured_job(shop)


def chosen_phase(visitor: Visitor, number: str) -> str:
    """The phase that is filled in."""
    page = visitor.get(f"/jobs/{number}/measure").text
    (found,) = re.findall(r'name="phase" value="(\w+)" checked', page)
    return str(found)


def correct(shop: Shop, number: str) -> None:
    shop.clock["now"] += timedelta(minutes=5)
    done = CorrectionIn.model_validate({"text": "head pulled"})
    with shop.database.write() as session:
        corrections.note(session, shop.people["technician"], number, done, shop.clock["now"])


def draft_of(shop: Shop, number: str, draft: int) -> DraftView:
    with shop.database.read() as session:
        return drafts.read(session, shop.people["technician"], number, draft)


def begun(visitor: Visitor, number: str, **form: str) -> int:
    """Start a measurement; its id."""
    answer = visitor.post(f"/jobs/{number}/drafts", {"phase": "before", "up": "z", **form})
    assert answer.status_code == 303
    return int(answer.headers["location"].rpartition("/")[2])


def test_before_is_filled_in_until_a_correction_is_noted(
    shop: Shop, technician: Visitor, number: str
) -> None:
    assert chosen_phase(technician, number) == "before"
    told = "No correction is noted yet: the machine still stands before the correction."
    assert told in text_of(technician.get(f"/jobs/{number}/measure").text)
    correct(shop, number)
    assert chosen_phase(technician, number) == "after"
    assert told not in text_of(technician.get(f"/jobs/{number}/measure").text)


@pytest.mark.parametrize("way", ["surveys", "drafts"])
@pytest.mark.parametrize(
    ("form", "told"),
    [
        ({"phase": "before"}, "Nothing says why measurement 1 is to be replaced"),
        (
            {"phase": "after", "because": WHY},
            "Measurement 1 was taken before the correction, this one after it",
        ),
    ],
)
def test_what_may_not_be_replaced_is_said_by_both_ways_of_measuring(
    technician: Visitor, number: str, way: str, form: dict[str, str], told: str
) -> None:
    sent = {"supersedes": "1", "up": "z", **form}
    document = FILE["document"][1].replace(
        b'"phase": "before"', b'"phase": "%s"' % form["phase"].encode()
    )
    files = {"document": ("x.json", document, "application/json")} if way == "surveys" else None
    answer = technician.post(f"/jobs/{number}/{way}", sent, files)
    assert answer.status_code == 422
    assert told in text_of(answer.text)
    assert 'value="1" selected' in answer.text, "the choice is not lost"
    assert "<details open>" in answer.text, "what is wrong is not folded away"


def test_a_measurement_begun_by_hand_takes_the_place_that_was_chosen(
    shop: Shop, technician: Visitor, number: str
) -> None:
    draft = begun(technician, number, supersedes="1", because=WHY)
    assert draft_of(shop, number, draft).supersedes == 1
    page = technician.get(f"/jobs/{number}/drafts/{draft}").text
    assert f"It takes the place of measurement 1: {WHY}" in text_of(page)
    assert f'href="/jobs/{number}/drafts/{draft}/replacing"' in page


def test_the_choice_is_changed_or_taken_back_before_it_ends(
    shop: Shop, technician: Visitor, number: str
) -> None:
    draft = begun(technician, number)
    place = f"/jobs/{number}/drafts/{draft}/replacing"
    assert "1 · before" in technician.get(place).text
    refused = technician.post(place, {"supersedes": "1"})
    assert refused.status_code == 422
    assert '<a href="#because">' in refused.text
    kept = technician.post(place, {"supersedes": "1", "because": WHY})
    assert kept.headers["location"] == f"/jobs/{number}/drafts/{draft}"
    assert 'value="1" selected' in technician.get(place).text
    technician.post(place, {"supersedes": ""})
    assert draft_of(shop, number, draft).supersedes is None


def test_where_nothing_of_the_phase_stands_there_is_nothing_to_choose(
    technician: Visitor, number: str
) -> None:
    draft = begun(technician, number, phase="after")
    page = technician.get(f"/jobs/{number}/drafts/{draft}/replacing").text
    assert "there is none whose place it could take" in text_of(page)
    assert 'name="supersedes"' not in page
