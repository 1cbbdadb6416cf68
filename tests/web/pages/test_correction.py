"""The page on which a correction is noted or put right."""

import pytest

from app.schemas.visual_check import VisualCheckIn
from app.services import photo_sharing, photos, visual_checks
from tests.databases import NOW
from tests.services.pictures import prepared
from tests.web.shop import Shop, Visitor, measured_job, ready_job, text_of


@pytest.fixture
def technician(shop: Shop) -> Visitor:
    return shop.signed_in("technician")


SENT = {
    "text": "Head pulled 7 mm forward",
    "part": "head",
    "method": "pulled",
    "instruction": "works handbook, page 31",
    "done_by": "Quay Forks (invented)",
    "done_on": "2026-03-02",
    "agreed": "yes",
    "agreed_by": "Åse Invented",
}


def test_cautions_stand_before_the_form(shop: Shop, technician: Visitor) -> None:
    page = technician.get(f"/jobs/{ready_job(shop)}/correction").text
    assert "Follow the maker's instruction on repair or replacement" in text_of(page)
    assert "Use no heat on heat-treated or aluminium parts." in text_of(page)
    assert page.index("Use no heat") < page.index('name="text"')


def test_what_is_sent_stands_on_the_job(shop: Shop, technician: Visitor) -> None:
    number = ready_job(shop)
    answer = technician.post(f"/jobs/{number}/correction", SENT)
    assert answer.headers["location"] == f"/jobs/{number}"
    page = text_of(technician.get(f"/jobs/{number}").text)
    assert "2 March 2026 · Quay Forks (invented)" in page
    said = "steering head, pulled cold: Head pulled 7 mm forward"
    assert f"{said} (maker's instruction: works handbook, page 31)" in page


def test_it_can_be_put_right(shop: Shop, technician: Visitor) -> None:
    number = ready_job(shop)
    technician.post(f"/jobs/{number}/correction", SENT)
    page = technician.get(f"/jobs/{number}/correction").text
    place = f"/jobs/{number}/correction?instead=1"
    assert f'href="{place}"' in page
    form = technician.get(place).text
    assert "Put a correction right" in form
    assert 'name="supersedes" value="1"' in form
    assert "Head pulled 7 mm forward</textarea>" in form
    assert '<option value="head" selected>' in form
    right = {**SENT, "text": "Head pulled 6 mm forward", "supersedes": "1"}
    assert technician.post(f"/jobs/{number}/correction", right).status_code == 303
    told = text_of(technician.get(f"/jobs/{number}").text)
    assert "6 mm forward" in told
    assert "7 mm forward" not in told
    late = technician.post(f"/jobs/{number}/correction", right)
    assert late.status_code == 409
    assert "was put right already" in text_of(late.text)


def test_a_refused_form_keeps_what_was_filled_in(shop: Shop, technician: Visitor) -> None:
    number = ready_job(shop)
    answer = technician.post(f"/jobs/{number}/correction", {**SENT, "done_on": "2030-01-01"})
    assert answer.status_code == 422
    assert "The day of the work has not come yet (“2030-01-01”)" in text_of(answer.text)
    assert "Head pulled 7 mm forward</textarea>" in answer.text
    assert '<option value="pulled" selected>' in answer.text


@pytest.mark.parametrize("asked", ["2", "x", "99999999999999999999"])
def test_a_correction_that_is_not_there_cannot_be_put_right(
    shop: Shop, technician: Visitor, asked: str
) -> None:
    assert technician.get(f"/jobs/{ready_job(shop)}/correction?instead={asked}").status_code == 404


def test_who_signs_sees_which_photos_will_be_printed(shop: Shop) -> None:
    number = ready_job(shop)
    inspector = shop.signed_in("inspector")
    sign_off = f"/jobs/{number}/sign-off"
    assert "Photos on the certificate" not in inspector.get(sign_off).text
    person = shop.people["inspector"]
    with shop.database.write() as session:
        kept = [
            photos.add(session, person, number, prepared(width, 40), None, None, NOW)
            for width in (60, 61, 62)
        ]
        photo_sharing.share(session, person, number, kept[0].id, NOW)
        photos.take_out(session, person, number, kept[2].id, "blurred", NOW)
    page = text_of(inspector.get(sign_off).text)
    assert "1 of 2: those that were chosen to go with the claim, at most 12." in page


def test_what_straightens_is_refused_while_the_frame_is_on_hold(
    shop: Shop, technician: Visitor
) -> None:
    number = measured_job(shop)
    now = shop.clock["now"]
    crack = VisualCheckIn(item="frame_cracks", answer="seen", place="left spar")
    with shop.database.write() as session:
        visual_checks.answer(session, shop.people["technician"], number, [crack], now)
    for method, part in [("pulled", "head"), ("pressed", ""), ("heated", "frame")]:
        sent = {**SENT, "method": method, "part": part}
        refused = technician.post(f"/jobs/{number}/correction", sent)
        assert refused.status_code == 422
        told = text_of(refused.text)
        assert "frame is on hold: cracks in the frame" in told
        assert "have an inspector close the hold" in told
    assert "Quay Forks" not in text_of(technician.get(f"/jobs/{number}").text)
    for method, part in [("replaced", "frame"), ("pressed", "swing_arm")]:
        sent = {**SENT, "method": method, "part": part}
        assert technician.post(f"/jobs/{number}/correction", sent).status_code == 303
    said = text_of(technician.get(f"/jobs/{number}").text)
    assert "nothing of it is straightened before an inspector has decided" in said
    assert "The work goes on" not in said
    inspector = shop.people["inspector"]
    with shop.database.write() as session:
        (hold,) = visual_checks.holds(session, inspector, number)
        visual_checks.close_hold(session, inspector, number, hold.id, "paint alone", now)
    assert technician.post(f"/jobs/{number}/correction", SENT).status_code == 303
