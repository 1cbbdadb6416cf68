"""The visual check on the tablet: one tap an item, two for what was seen, photos beside."""

import pytest

from app.schemas.visual_check import HOLD_ITEMS, ITEMS
from app.services import drafts, photos, second_looks, visual_checks
from app.wording import jobs as words
from tests.services.pictures import from_a_camera
from tests.web.shop import Shop, Visitor, new_job, text_of

LIST = "/jobs/{number}/visual-check"
ONE = LIST + "/{item}"
CAMERA = {"photo": ("IMG_1.JPG", from_a_camera(), "image/jpeg")}


@pytest.fixture
def technician(shop: Shop) -> Visitor:
    return shop.signed_in("technician")


@pytest.fixture
def number(shop: Shop) -> str:
    return new_job(shop)


def answers(shop: Shop, number: str) -> dict[str, tuple[str, str | None, str | None]]:
    """What is on record of each item that was answered."""
    with shop.database.read() as session:
        found = visual_checks.listing(session, shop.people["technician"], number)
    return {one.item: (one.answer, one.place, one.note) for one in found if one.checked_at}


def test_one_tap_answers_an_item_and_leads_to_the_next_row(
    shop: Shop, technician: Visitor, number: str
) -> None:
    answer = technician.post(LIST.format(number=number), {"tap": "frame_cracks.not_seen"})
    assert answer.headers["location"] == f"/jobs/{number}/visual-check#frame_wrinkles"
    assert answers(shop, number) == {"frame_cracks": ("not_seen", None, None)}
    page = technician.get(LIST.format(number=number)).text
    assert f"{len(ITEMS) - 1} of {len(ITEMS)} items are open." in page
    main = page[: page.index("<footer")]
    assert main.count('aria-pressed="true"') == 1
    last = technician.post(LIST.format(number=number), {"tap": "suspension_links.not_checked"})
    assert last.headers["location"].endswith("#suspension_links")


@pytest.mark.parametrize("tap", ["", "frame_cracks", "frame_cracks.seen", "frame_cracks.maybe"])
def test_a_tap_that_says_nothing_is_refused(
    shop: Shop, technician: Visitor, number: str, tap: str
) -> None:
    answer = technician.post(LIST.format(number=number), {"tap": tap})
    assert answer.status_code == 422
    assert "Nothing was answered" in text_of(answer.text)
    assert technician.post(LIST.format(number=number), {"tap": "moon.not_seen"}).status_code == 422
    assert answers(shop, number) == {}


def test_screen_after_screen_the_whole_list_is_answered_and_leads_back(
    shop: Shop, technician: Visitor, number: str
) -> None:
    page = technician.get(LIST.format(number=number)).text
    assert "Look for cracks in the frame" in page
    place, seen = ONE.format(number=number, item=ITEMS[0]), []
    while place != LIST.format(number=number):
        seen.append(place.rpartition("/")[2])
        assert technician.get(place).status_code == 200
        place = technician.post(place, {"answer": "not_seen"}).headers["location"]
    assert tuple(seen) == ITEMS
    assert set(answers(shop, number)) == set(ITEMS)
    done = technician.get(place).text
    assert "All is answered." in done
    assert f'class="go wide" href="/jobs/{number}"' in done


def test_during_a_measurement_the_check_leads_back_to_it(
    shop: Shop, technician: Visitor, number: str
) -> None:
    person, now = shop.people["technician"], shop.clock["now"]
    with shop.database.write() as session:
        draft = drafts.open_draft(session, person, number, "before", now)
    for item in ITEMS:
        technician.post(LIST.format(number=number), {"tap": f"{item}.not_seen"})
    page = technician.get(LIST.format(number=number)).text
    assert f'class="go wide" href="/jobs/{number}/drafts/{draft.id}' in page


def test_what_was_seen_is_kept_with_place_note_and_photo_and_opens_a_hold(
    shop: Shop, technician: Visitor, number: str
) -> None:
    item = ONE.format(number=number, item="frame_cracks")
    told = {"answer": "seen", "place": ["steering head", "left spar"], "note": "hairline"}
    answer = technician.post(item, told, CAMERA)
    assert answer.headers["location"] == ONE.format(number=number, item="frame_wrinkles")
    assert answers(shop, number) == {
        "frame_cracks": ("seen", "steering head, left spar", "hairline")
    }
    with shop.database.read() as session:
        (photo,) = photos.listing(session, shop.people["technician"], number)
        (hold,) = visual_checks.holds(session, shop.people["technician"], number)
    assert photo.about == "item.frame_cracks"
    assert (hold.item, hold.note) == ("frame_cracks", "steering head, left spar – hairline")
    page = technician.get(item).text
    assert page.count("checked>") == 2
    assert f"/jobs/{number}/photos/{photo.id}/thumbnail" in page
    listed = text_of(technician.get(LIST.format(number=number)).text)
    assert "steering head, left spar · hairline · 1 photo" in listed


def test_what_was_seen_later_stands_on_the_hold(
    shop: Shop, technician: Visitor, number: str
) -> None:
    item = ONE.format(number=number, item="arm_cracks")
    technician.post(item, {"answer": "seen", "note": "left"})
    technician.post(item, {"answer": "seen", "note": "left and right"})
    with shop.database.read() as session:
        (hold,) = visual_checks.holds(session, shop.people["technician"], number)
    assert hold.note == "left and right"


@pytest.mark.parametrize("item", ["frame_cracks", "wheel_rims"])
def test_damage_is_not_taken_without_where_or_what_or_a_photo(
    shop: Shop, technician: Visitor, number: str, item: str
) -> None:
    place = ONE.format(number=number, item=item)
    refused = technician.post(place, {"answer": "seen", "place": "", "note": " "})
    assert refused.status_code == 422
    assert "nothing says where and what; a place, a note or a photo is needed" in text_of(
        refused.text
    )
    assert '<a href="#place">' in refused.text
    assert answers(shop, number) == {}
    assert technician.post(place, {"answer": "seen"}, CAMERA).status_code == 303
    assert answers(shop, number) == {item: ("seen", None, None)}


def test_a_file_that_is_no_photo_is_refused_and_nothing_is_answered(
    shop: Shop, technician: Visitor, number: str
) -> None:
    wrong = {"photo": ("a.jpg", b"<html>", "image/jpeg")}
    answer = technician.post(
        ONE.format(number=number, item="frame_cracks"), {"answer": "seen", "note": "there"}, wrong
    )
    assert answer.status_code == 422
    assert "The file cannot be read as a photo" in text_of(answer.text)
    assert 'value="there"' in answer.text, "what was typed is not lost"
    assert answers(shop, number) == {}


def test_any_answer_may_carry_a_note(shop: Shop, technician: Visitor, number: str) -> None:
    item = ONE.format(number=number, item="pivot_bearings")
    technician.post(item, {"answer": "not_checked", "note": "arm not taken out"})
    assert answers(shop, number)["pivot_bearings"] == ("not_checked", None, "arm not taken out")


def test_an_item_that_is_not_in_the_list_is_not_found(technician: Visitor, number: str) -> None:
    item = ONE.format(number=number, item="moon")
    assert technician.get(item).status_code == 404
    assert technician.post(item, {"answer": "seen", "note": "there"}).status_code == 404
    assert technician.post(ONE.format(number=number, item=ITEMS[0])).status_code == 422


def test_every_item_that_speaks_of_a_crack_or_a_wrinkle_opens_a_hold() -> None:
    spoken = {
        item for item in ITEMS if any(word in words.ITEMS[item] for word in ("crack", "wrinkle"))
    }
    assert len(spoken) == 8
    assert spoken <= HOLD_ITEMS


def test_every_item_has_its_words_and_its_place_in_the_list() -> None:
    listed = tuple(item for _name, items in words.ITEM_GROUPS for item in items)
    assert listed == ITEMS
    assert set(words.ITEMS) == set(ITEMS)
    assert len(words.ITEM_PLACES) == len(words.ITEM_GROUPS)


def test_a_look_that_changes_nothing_is_put_on_record_with_its_person(
    shop: Shop, technician: Visitor, number: str
) -> None:
    place = LIST.format(number=number)
    refused = technician.post(place, {"again": "yes"})
    assert refused.status_code == 422
    assert "Nobody has looked at this machine yet" in text_of(refused.text)
    for item in ITEMS:
        technician.post(place, {"tap": f"{item}.not_seen"})
    assert "Looked a second time?" not in technician.get(place).text, "this is the first look"
    shop.later(days=1)
    with shop.database.write() as session:
        second_looks.look_again(session, shop.people["inspector"], number, shop.clock["now"])
    shop.later(days=1)
    technician = shop.signed_in("technician")
    page = technician.get(place).text
    assert page.count('name="again" value="yes"') == 1
    assert "Looked at last: 3 March 2026, 09:00, Inspector" in text_of(page)
    assert technician.post(place, {"again": "yes"}).headers["location"] == place
    shop.later(minutes=30)
    shown = " ".join(text_of(technician.get(place).text).split())
    looks = [
        f"Looked again, nothing changed: {day} March 2026, 09:00, {who} ({len(ITEMS)} items)"
        for day, who in ((4, "Technician"), (3, "Inspector"))
    ]
    assert " ".join(looks) in shown
