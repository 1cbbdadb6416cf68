"""The desk besides check-in: today's calls, notes, the order and its signature, the job card."""

import json
import re

import pytest

from app.schemas.note import NoteIn
from app.services import notes
from app.web.pages.today import MOST_LINES
from tests.web.shop import Shop, measured_job, new_job, ready_job, text_of

STROKES = json.dumps([[[100, 200], [300, 100], [500, 220], [700, 90]]])


def wish(shop: Shop, number: str, words: str = "May the bar be replaced?") -> None:
    """Somebody on the floor wants the customer called."""
    with shop.database.write() as session:
        note = NoteIn.model_validate({"words": words, "call": "customer"})
        notes.add(session, shop.people["technician"], number, note, shop.clock["now"])


def test_a_call_stands_on_top_of_the_desks_list_with_its_number(shop: Shop) -> None:
    wish(shop, new_job(shop))
    desk = shop.signed_in("desk")
    page = desk.get("/").text
    assert '<a class="phone" href="tel:+00123456">+00 12 34-56</a>' in page
    assert "May the bar be replaced?" in text_of(page)
    for role in ("technician", "inspector"):
        assert "To be called" not in text_of(shop.signed_in(role).get("/").text)


@pytest.mark.parametrize(
    ("outcome", "told"),
    [("reached", ""), ("message_left", "message left 2 March 2026"), ("not_reached", "tried 2 M")],
)
def test_what_came_of_a_call_is_told_and_leads_back_to_the_same_list(
    shop: Shop, outcome: str, told: str
) -> None:
    number = new_job(shop)
    wish(shop, number)
    shop.later(minutes=5)
    desk = shop.signed_in("desk")
    back = re.search(r'name="back" value="([^"]*)"', desk.get("/?q=skarv").text)
    assert back is not None
    sent = {"whom": "customer", "outcome": outcome, "words": "Replace it.", "back": back[1]}
    answer = desk.post(f"/jobs/{number}/calls", sent)
    assert answer.headers["location"] == "/?q=skarv&noted=2"
    page = text_of(desk.get("/?q=skarv&noted=2").text)
    assert "Åse Invented (customer): " in page
    assert "“Replace it.”" in page
    assert ("To be called" in page) == bool(told)
    assert told in page


def test_a_call_just_noted_is_taken_back_from_the_list(shop: Shop) -> None:
    number = new_job(shop)
    wish(shop, number)
    shop.later(minutes=5)
    desk = shop.signed_in("desk")
    sent = {"whom": "customer", "outcome": "reached", "words": "Yes.", "back": "q=skarv"}
    there = desk.post(f"/jobs/{number}/calls", sent).headers["location"]
    page = desk.get(there).text
    assert "To be called" not in text_of(page)
    assert "Take it back" in text_of(page)
    for nobodys in ("/?noted=1", "/?noted=99", "/?noted=x", "/?noted=" + "9" * 30):
        assert "Take it back" not in text_of(desk.get(nobodys).text)
    assert "Take it back" not in text_of(shop.signed_in("owner").get(there).text)
    back = {"takes_back": "2", "words": "noted by mistake", "back": "q=skarv"}
    assert desk.post(f"/jobs/{number}/notes", back).headers["location"] == "/?q=skarv"
    assert "To be called" in text_of(desk.get("/?q=skarv").text)
    assert "Take it back" not in text_of(desk.get(there).text)


def test_who_was_reached_about_a_past_promise_is_promised_another_day(shop: Shop) -> None:
    number = new_job(shop, promised_on="2026-03-03")
    shop.later(days=4)
    desk = shop.signed_in("desk")
    page = desk.get("/").text
    assert '<option value="2026-03-09">Monday 9 March 2026</option>' in page
    sent = {"whom": "customer", "outcome": "reached", "words": "", "back": ""}
    refused = desk.post(f"/jobs/{number}/calls", sent)
    assert refused.status_code == 422
    for anchor in ("words-customer", "promised_on-customer"):
        assert f'<a href="#{anchor}">' in refused.text
        assert f'id="{anchor}"' in refused.text
    sent |= {"words": "Monday suits her.", "promised_on": "2026-03-09"}
    there = desk.post(f"/jobs/{number}/calls", sent).headers["location"]
    told = text_of(desk.get(there).text)
    assert "promised for Monday 9 March 2026 instead of Tuesday 3 March 2026" in told
    assert "overdue by" not in told
    assert "Monday 9 March 2026" in text_of(desk.get(f"/jobs/{number}/notes").text)


def test_that_a_past_promise_stays_as_it_is_is_said(shop: Shop) -> None:
    number = new_job(shop, promised_on="2026-03-03")
    shop.later(days=4)
    desk = shop.signed_in("desk")
    sent = {"whom": "customer", "outcome": "reached", "words": "He waits.", "back": ""}
    there = desk.post(f"/jobs/{number}/calls", {**sent, "promised_on": "stands"})
    told = text_of(desk.get(there.headers["location"]).text)
    assert "promised for Tuesday 3 March 2026, as before" in told
    assert "To be called" not in told


def test_a_search_is_not_hidden_by_the_role_whose_work_is_seen_first(shop: Shop) -> None:
    number = new_job(shop)
    inspector = shop.signed_in("inspector")
    for typed in ("AB12CD", "ab+12+cd", "ZZZ+TEST-00A1000017", number):
        assert number in inspector.get(f"/?q={typed}").text
    page = inspector.get("/?q=ab12cd&role=inspector").text
    assert number not in page
    assert "1 waits for the technician" in text_of(page)
    assert '<option value="">anybody' in page
    assert '<option value="" selected>you' in inspector.get("/").text
    nothing = text_of(inspector.get("/?q=nothing+like+it").text)
    assert "No job fits this search, open or closed." in nothing
    assert "Nothing waits for you." in text_of(inspector.get("/").text)


@pytest.mark.parametrize(
    ("back", "there"),
    [
        ("", "/"),
        ("q=skarv&role=desk&status=measured", "/?q=skarv&role=desk&status=measured"),
        ("//elsewhere.invalid", "/"),
        ("q=a&next=//elsewhere.invalid&role=nobody", "/?q=a"),
    ],
)
def test_nobody_is_led_elsewhere_after_a_call(shop: Shop, back: str, there: str) -> None:
    number = new_job(shop)
    sent = {"whom": "customer", "outcome": "reached", "words": "Yes.", "back": back}
    answer = shop.signed_in("desk").post(f"/jobs/{number}/calls", sent)
    joint = "&" if "?" in there else "?"
    assert answer.headers["location"] == f"{there}{joint}noted=1"


def test_a_role_that_measures_or_signs_sees_first_what_waits_for_it(shop: Shop) -> None:
    fresh = new_job(shop)
    assert fresh in shop.signed_in("technician").get("/").text
    inspector = shop.signed_in("inspector")
    page = inspector.get("/").text
    assert fresh not in page
    assert "Nothing waits for you." in text_of(page)
    assert fresh in inspector.get("/?role=all").text
    assert fresh in shop.signed_in("desk").get("/").text
    assert fresh in shop.signed_in("owner").get("/").text


def test_the_list_is_filtered_by_status_in_its_address(shop: Shop) -> None:
    number = new_job(shop)
    desk = shop.signed_in("desk")
    assert number in desk.get("/?status=checked_in").text
    assert number not in desk.get("/?status=measured").text
    assert number in desk.get("/?status=nonsense").text
    assert '<option value="checked_in" selected>' in desk.get("/?status=checked_in").text


def test_an_overdue_job_says_so_in_words(shop: Shop) -> None:
    new_job(shop, promised_on="2026-03-03")
    shop.later(days=4)
    page = text_of(shop.signed_in("desk").get("/").text)
    assert "overdue by 3 days" in page
    assert "1 overdue" in page
    assert "the promised day is past" in page


def test_notes_and_calls_of_a_job(shop: Shop) -> None:
    number = ready_job(shop)
    technician = shop.signed_in("technician")
    empty = technician.post(f"/jobs/{number}/notes", {"words": " "})
    assert empty.status_code == 422
    assert 'href="#words"' in empty.text
    sent = {"words": "The left bar is loose.", "call": "customer"}
    assert technician.post(f"/jobs/{number}/notes", sent).status_code == 303
    page = text_of(shop.signed_in("desk").get(f"/jobs/{number}").text)
    assert "call the customer" in page
    noted = text_of(technician.get(f"/jobs/{number}/notes").text)
    assert "Call the customer" in noted
    assert "The left bar is loose." in noted
    shop.later(minutes=1)
    said = {"whom": "customer", "outcome": "reached", "words": "Replace it."}
    assert technician.post(f"/jobs/{number}/calls", said).headers["location"].endswith("/notes")
    noted = text_of(technician.get(f"/jobs/{number}/notes").text)
    assert "Called the customer: reached" in noted
    assert "To be called:" not in noted


def test_reached_by_mistake_is_taken_back_and_the_call_is_due_again(shop: Shop) -> None:
    number = new_job(shop)
    wish(shop, number)
    shop.later(minutes=5)
    desk = shop.signed_in("desk")
    place = f"/jobs/{number}/notes"
    desk.post(f"/jobs/{number}/calls", {"whom": "customer", "outcome": "reached", "words": "x"})
    assert "To be called" not in text_of(desk.get("/").text)
    assert 'name="takes_back" value="2"' in desk.get(place).text
    assert desk.post(place, {"takes_back": "2", "words": " "}).status_code == 422
    assert desk.post(place, {"takes_back": "2", "words": "wrong line"}).status_code == 303
    assert "To be called" in text_of(desk.get("/").text)
    page = desk.get(place).text
    assert "Called the customer: reached (taken back: it counts no more)" in text_of(page)
    assert 'name="takes_back" value="2"' not in page


def test_further_calls_are_counted(shop: Shop) -> None:
    for place in range(6):
        machine = {"make": "Fjordmark", "model": "Skarv 700", "frame_number": f"CALL-{place}"}
        wish(shop, new_job(shop, machine=machine, customer={"name": f"Customer {place} Invented"}))
    page = text_of(shop.signed_in("desk").get("/").text)
    assert "2 further calls" in page


def test_the_order_is_signed_on_the_screen_with_the_words_that_were_shown(shop: Shop) -> None:
    number = new_job(shop, authorised_by="", privacy_notice_given="")
    desk = shop.signed_in("desk")
    job = desk.get(f"/jobs/{number}").text
    assert f'class="go" href="/jobs/{number}/order"' in job
    page = text_of(desk.get(f"/jobs/{number}/order").text)
    for told in ("I leave the Fjordmark Skarv 700", "fork bent", "measure and report", "one key"):
        assert told in page
    sent = {"purpose": "authorisation", "name": "Åse Invented", "strokes": STROKES, "how": "screen"}
    assert desk.post(f"/jobs/{number}/order", sent).headers["location"] == f"/jobs/{number}"
    signed = text_of(desk.get(f"/jobs/{number}").text)
    assert "signed by Åse Invented on the screen" in signed
    again = desk.get(f"/jobs/{number}/order").text
    assert "Signature of Åse Invented" in again
    assert "Notice on personal data: signed" not in text_of(again)


def test_a_signed_card_counts_without_strokes(shop: Shop) -> None:
    number = new_job(shop, authorised_by="")
    desk = shop.signed_in("desk")
    sent = {"purpose": "privacy", "name": "Åse Invented", "strokes": STROKES, "how": "card"}
    assert desk.post(f"/jobs/{number}/order", sent).status_code == 303
    assert "on the printed card" in text_of(desk.get(f"/jobs/{number}/order").text)


@pytest.mark.parametrize(
    ("change", "anchor"),
    [
        ({"strokes": ""}, "strokes"),
        ({"strokes": "[[[1,1],[2,2]]]"}, "strokes"),
        ({"strokes": "nonsense"}, "strokes"),
        ({"name": ""}, "name"),
        ({"purpose": ""}, "purpose"),
        ({"purpose": None}, "purpose"),
    ],
)
def test_what_is_missing_to_sign_is_told_beside_its_field(
    shop: Shop, change: dict[str, str | None], anchor: str
) -> None:
    number = new_job(shop)
    whole = {"purpose": "privacy", "name": "Åse", "strokes": STROKES, "how": "screen"}
    sent = {name: value for name, value in {**whole, **change}.items() if value is not None}
    answer = shop.signed_in("desk").post(f"/jobs/{number}/order", sent)
    assert answer.status_code == 422
    assert f'<a href="#{anchor}">' in answer.text


def test_the_card_holds_the_job_and_a_code_that_leads_to_it(shop: Shop) -> None:
    damage = [{"zone": "fork", "look": "bent"}]
    number = new_job(shop, damage=damage)
    page = shop.signed_in("desk").get(f"/jobs/{number}/card").text
    text = text_of(page)
    for told in (
        number, "AB-12 CD", "stands at: bay 3", "CL/2026-77", "Åse Invented", "12 o'clock",
        "fork: bent", "one key", "Ran into the back of a van.", "Order",
    ):  # fmt: skip
        assert told in text
    assert f"Code that leads to http://127.0.0.1:8417/jobs/{number}" in page
    assert 'class="z z-fork hit"' in page
    assert 'class="z z-tank"' in page


def test_a_signature_is_shown_to_those_alone_who_may_see_it(shop: Shop) -> None:
    number = measured_job(shop)
    sent = {"purpose": "authorisation", "name": "Åse", "strokes": STROKES, "how": "screen"}
    shop.signed_in("desk").post(f"/jobs/{number}/order", sent)
    for role, seen in (("desk", True), ("inspector", True), ("technician", False)):
        page = shop.signed_in(role).get(f"/jobs/{number}/card").text
        assert ("Signature of Åse" in page) is seen


def test_the_shops_own_notice_takes_the_place_of_ours(shop: Shop) -> None:
    number = new_job(shop)
    owner = shop.signed_in("owner")
    assert "keeps your name and how to reach you" in owner.get(f"/jobs/{number}/order").text
    form = {
        "name": "Workshop", "confidence_threshold": "0.95", "claim_link_days": "30",
        "privacy_notice": "We keep what we measure.\nAsk at the counter.",
    }  # fmt: skip
    assert owner.post("/shop", form).status_code == 303
    page = owner.get(f"/jobs/{number}/order").text
    assert "<p>We keep what we measure.</p><p>Ask at the counter.</p>" in page
    assert "keeps your name and how to reach you" not in page


def test_a_long_notice_stands_on_a_second_sheet(shop: Shop) -> None:
    number = new_job(shop)
    owner = shop.signed_in("owner")
    form = {
        "name": "Workshop", "confidence_threshold": "0.95", "claim_link_days": "30",
        "privacy_notice": "We keep what we measure. " * 60,
    }  # fmt: skip
    assert 'class="card second"' not in owner.get(f"/jobs/{number}/card").text
    owner.post("/shop", form)
    page = owner.get(f"/jobs/{number}/card").text
    assert 'class="card second"' in page
    assert "I was given the notice on the second sheet." in page


def test_a_long_list_comes_in_pages_of_less_than_a_hundred_kilobytes(shop: Shop) -> None:
    for number in range(MOST_LINES + 3):
        machine = {"make": "Fjordmark", "model": "Skarv 700", "frame_number": f"MANY-{number}"}
        wish(shop, new_job(shop, machine=machine, customer={"name": f"Customer {number} Invented"}))
    desk = shop.signed_in("desk")
    first, second = desk.get("/?role=all"), desk.get("/?role=all&page=2")
    assert len(first.content) < 100_000
    shown = [
        re.findall(r'class="row" href="/jobs/(J-2026-\d+)"', one.text) for one in (first, second)
    ]
    assert [len(one) for one in shown] == [MOST_LINES, 3]
    assert not set(shown[0]) & set(shown[1])
    assert f"1 to {MOST_LINES} of {MOST_LINES + 3} are shown" in text_of(first.text)
    assert "63 more calls" in text_of(first.text)
    assert '<a class="also" href="/?role=all&amp;page=2">' in first.text
    assert "Next page" not in second.text
    for odd in ("0", "x", "-1", "9" * 30, "\u0663"):
        assert desk.get(f"/?page={odd}").status_code == 200


def test_what_fits_exactly_is_listed_alone_with_a_way_to_the_rest(shop: Shop) -> None:
    exact = new_job(shop, claim={"claim_number": "AB/12-CE"})
    machine = {"make": "Mosfell", "model": "Lom 400", "frame_number": "ZZZTEST00A1000099"}
    other = new_job(shop, machine={**machine, "plate": "AB-12 CDE"})
    desk = shop.signed_in("desk")
    page = desk.get("/?q=AB+12+CD").text
    assert f'class="row" href="/jobs/{exact}"' in page
    assert f'class="row" href="/jobs/{other}"' not in page
    assert "Show 1 further job that fits these words" in text_of(page)
    wide = desk.get("/?q=AB+12+CD&widely=1").text
    assert f'class="row" href="/jobs/{other}"' in wide
    assert "further job" not in text_of(wide)
