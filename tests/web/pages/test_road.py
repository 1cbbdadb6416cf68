"""What a job's page and the day's list say of a measurement that was begun and not finished."""

import json

import pytest

from app.services import drafts, floor, surveys
from tests.web.shop import Shop, measured_job, new_job, ready_job, seed_text, text_of

BOTH = ("before-head-bent.json", "after-corrected.json")


def begin(shop: Shop, number: str, phase: str) -> int:
    with shop.database.write() as session:
        technician = shop.people["technician"]
        opened = drafts.open_draft(session, technician, number, phase, shop.clock["now"])
    return opened.id


def test_begun_during_the_correction_with_nothing_outside_it_is_told_as_what_it_is(
    shop: Shop,
) -> None:
    number = measured_job(shop, BOTH)
    technician = shop.signed_in("technician")
    assert "Sign the certificate" in text_of(technician.get("/?role=all").text)
    draft = begin(shop, number, "during")
    page = technician.get(f"/jobs/{number}").text
    said = text_of(page)
    assert "Something is outside its tolerance" not in said
    assert "The measurement during the correction is not finished." in said
    assert f'<a class="go" href="/jobs/{number}/drafts/{draft}">Go on</a>' in page
    listed = text_of(technician.get("/").text)
    assert "Go on measuring during the correction" in listed
    assert "Correct the chassis" not in listed


@pytest.mark.parametrize("role", ["technician", "desk"])
def test_a_measurement_that_rests_says_since_when(shop: Shop, role: str) -> None:
    number = ready_job(shop)
    draft = begin(shop, number, "before")
    somebody = shop.signed_in(role)
    assert "Paused since" not in text_of(somebody.get(f"/jobs/{number}").text)
    shop.later(minutes=7)
    technician = shop.people["technician"]
    with shop.database.write() as session:
        floor.pause(session, technician, number, draft, "pause-1", shop.clock["now"])
    assert "Paused since 2 March 2026" in text_of(somebody.get(f"/jobs/{number}").text)
    with shop.database.write() as session:
        floor.resume(session, technician, number, draft, "go-on-1", shop.clock["now"])
    assert "Paused since" not in text_of(somebody.get(f"/jobs/{number}").text)


def test_a_visual_check_that_was_begun_is_gone_on_with(shop: Shop) -> None:
    number, technician = new_job(shop), shop.signed_in("technician")
    sent = {"reference": "1", "because": "same frame"}
    technician.post(f"/jobs/{number}/reference", sent)
    technician.post(f"/jobs/{number}/instrument", {"instrument": "1"})
    assert "Start the visual check" in text_of(technician.get(f"/jobs/{number}").text)
    technician.post(f"/jobs/{number}/visual-check", {"tap": "frame_cracks.not_seen"})
    page = text_of(technician.get(f"/jobs/{number}").text)
    assert "Go on with the visual check" in page
    assert "Start the visual check" not in page


def test_what_ends_a_measurement_for_good_is_called_discarding_everywhere(shop: Shop) -> None:
    number = ready_job(shop)
    draft = begin(shop, number, "before")
    technician = shop.signed_in("technician")
    assert "Go on with it, or discard it." in text_of(technician.get(f"/jobs/{number}").text)
    place = f"/jobs/{number}/drafts/{draft}"
    page = technician.get(place).text
    asked, act = page.index("Discard this measurement"), page.index("Discard it now")
    assert '<details class="ask">' in page[:asked]
    assert "it cannot be taken up again" in page[asked:act]
    version = page[asked:act].partition('name="version" value="')[2].partition('"')[0]
    assert technician.post(f"{place}/discard", {"version": version}).status_code == 303
    assert "discarded" in text_of(technician.get(place).text)
    words = (text_of(technician.get(one).text) for one in (place, f"{place}/points"))
    assert not any("put away" in said.lower() for said in words)


@pytest.mark.parametrize("page", ["", "/surveys/2", "/before-and-after"])
def test_a_reference_of_another_machine_is_told_wherever_a_finding_is(
    shop: Shop, page: str
) -> None:
    other = {"make": "Mosfell", "model": "Lom", "frame_number": "ZZZTEST00L1000017"}
    technician = shop.signed_in("technician")
    number = new_job(shop, machine=other)
    technician.post(f"/jobs/{number}/reference", {"reference": "1", "because": "same frame"})
    technician.post(f"/jobs/{number}/instrument", {"instrument": "1"})
    for name in BOTH:
        document = json.loads(seed_text(name))
        shop.later(hours=9)
        with shop.database.write() as session:
            person = shop.people["technician"]
            surveys.submit(session, person, number, document, shop.clock["now"])
    told = text_of(shop.signed_in("technician").get(f"/jobs/{number}{page}").text)
    assert "The reference is not of this machine: same frame" in told


@pytest.mark.parametrize("page", ["", "/surveys/2"])
def test_who_cannot_sign_is_told_that_the_inspector_does(shop: Shop, page: str) -> None:
    number = measured_job(shop, BOTH)
    told = shop.signed_in("technician").get(f"/jobs/{number}{page}").text
    assert "Next: the inspector signs" in text_of(told)
    assert "<b>Sign the certificate" not in told
    signs = text_of(shop.signed_in("inspector").get(f"/jobs/{number}{page}").text)
    assert "Next: the inspector signs" not in signs
