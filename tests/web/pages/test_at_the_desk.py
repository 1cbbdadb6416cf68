"""What a clerk meets at the desk: the keyboard, look-ups, numbers as they are written, the way."""

import re

import pytest

from tests.services.forms import FRAME_NUMBER
from tests.web.shop import Shop, new_job, text_of

NEW = {
    "customer.name": "Bo Invented",
    "machine.make": "Mosfell",
    "machine.model": "Lom 400",
    "machine.frame_number": "OTHER-4711",
}


def first_button(page: str) -> str:
    """The button that Enter in a field of the check-in presses."""
    form = page[page.index('<form class="check-in"') :]
    found = re.search(r"<button[^>]*>", form)
    assert found is not None
    return found[0]


def test_enter_in_the_check_in_checks_in_and_the_first_field_is_ready(shop: Shop) -> None:
    page = shop.signed_in("desk").get("/check-in").text
    assert "formaction" not in first_button(page)
    assert 'id="customer.name" name="customer.name" value="" autocomplete="off" autofocus' in page
    assert page.count(" autofocus") == 1
    for look_up in re.findall(r'formaction="([^"]*)"', page):
        assert look_up == "/check-in/look-up#customer"


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ({}, "Type two letters of the name at least"),
        ({"customer.name": "b"}, "Type two letters of the name at least"),
        ({"machine.plate": "AB1"}, "or four signs of the telephone, the plate"),
        ({"customer.name": "Nobody like it"}, "Nobody and no machine fits."),
        ({"customer.name": "ase"}, "On record already:"),
    ],
)
def test_a_look_up_says_what_it_needs(shop: Shop, typed: dict[str, str], told: str) -> None:
    new_job(shop)
    page = shop.signed_in("desk").post("/check-in/look-up", typed).text
    assert told in text_of(page)
    assert " autofocus" not in page


@pytest.mark.parametrize(
    ("typed", "read"),
    [
        ("12.500", "12500"), ("12,500 km", "12500"), ("1 234 567", "1234567"),
        ("1.234.567", "1234567"), ("12'500", "12500"),
    ],
)  # fmt: skip
def test_kilometres_are_taken_as_they_are_written(shop: Shop, typed: str, read: str) -> None:
    desk = shop.signed_in("desk")
    answer = desk.post("/check-in", {**NEW, "odometer_km": typed})
    number = re.search(r"J-[0-9-]+", answer.headers["location"])
    assert number is not None
    assert re.search(rf"Odometer, km\s+{read}", text_of(desk.get(f"/jobs/{number[0]}").text))


@pytest.mark.parametrize("typed", ["12.5", "1.23", "12.500,5", "1,234.567", "about 12000", "-5"])
def test_what_may_be_read_in_two_ways_is_refused_with_what_to_type(shop: Shop, typed: str) -> None:
    page = text_of(shop.signed_in("desk").post("/check-in", {**NEW, "odometer_km": typed}).text)
    assert "whole kilometres are needed: type the figures alone, such as 12500" in page


def test_a_year_has_no_unit_to_be_checked(shop: Shop) -> None:
    desk = shop.signed_in("desk")
    page = text_of(desk.post("/check-in", {**NEW, "machine.year": "21"}).text)
    assert "The year of the machine is “21”; at least 1885 is needed: correct it." in page
    far = text_of(desk.post("/check-in", {**NEW, "odometer_km": "9000000"}).text)
    assert "correct it, and check its unit" in far


def test_the_owner_of_a_known_machine_is_named_and_can_be_taken(shop: Shop) -> None:
    number = new_job(shop)
    desk = shop.signed_in("desk")
    sent = {**NEW, "machine.frame_number": FRAME_NUMBER}
    page = desk.post("/check-in", sent).text
    assert "belongs to Åse Invented" in text_of(page)
    assert f'<a href="/jobs/{number}">See {number}</a>' in page
    assert 'name="take" value="1-1"' in page


def test_the_order_says_who_leaves_the_machine_and_who_is_told(shop: Shop) -> None:
    number = new_job(shop)
    page = text_of(shop.signed_in("desk").get(f"/jobs/{number}/order").text)
    for label, value in (
        ("Customer", "Åse Invented"), ("Insurer", "Invented Mutual"),
        ("Claim number", "CL/2026-77"),
    ):  # fmt: skip
        assert re.search(rf"{label}\s+{value}", page)


def test_what_is_changed_on_the_way_leads_back_to_it(shop: Shop) -> None:
    number = new_job(shop)
    desk = shop.signed_in("desk")
    order = desk.get(f"/jobs/{number}/order?arrival=yes").text
    assert f'href="/jobs/{number}/check-in?arrival=yes"' in order
    change = desk.get(f"/jobs/{number}/check-in?arrival=yes").text
    assert f'href="/jobs/{number}/machine?arrival=yes"' in change
    machine = desk.get(f"/jobs/{number}/machine?arrival=yes").text
    for page in (change, machine):
        assert '<input type="hidden" name="arrival" value="yes">' in page
        assert f'href="/jobs/{number}/order?arrival=yes"' in page
    version = re.search(r'name="version" value="([^"]*)"', machine)
    assert version is not None
    right = {
        "arrival": "yes", "version": version[1], "make": "Fjordmark", "model": "Skarv 700",
        "frame_number": "ZZZTEST00A1000018", "plate": "AB-12 CD", "reason": "misread",
    }  # fmt: skip
    there = desk.post(f"/jobs/{number}/machine", right).headers["location"]
    assert there == f"/jobs/{number}/order?arrival=yes"
    assert "/check-in?" not in desk.get(f"/jobs/{number}/order").text


def test_a_frame_numbers_warning_is_not_printed_on_the_card(shop: Shop) -> None:
    machine = {"make": "Mosfell", "model": "Lom 400", "frame_number": "JZZIAA000XA000O0I"}
    number = new_job(shop, machine=machine)
    page = shop.signed_in("desk").get(f"/jobs/{number}/card?arrival=yes").text
    warned = re.findall(r'<div class="([^"]*)"><p>the frame number holds', page)
    assert warned == ["notice warn onscreen"]


def test_days_on_record_are_among_those_to_choose_from(shop: Shop) -> None:
    number = new_job(shop, promised_on="2026-03-04")
    shop.later(days=9)
    page = shop.signed_in("desk").get(f"/jobs/{number}/check-in").text
    assert (
        '<option value="2026-03-04" selected>Wednesday 4 March 2026, as on record</option>' in page
    )
    assert '<option value="2026-02-27" selected>Friday 27 February 2026</option>' in page


def test_the_desk_sees_telephone_promise_and_place_at_once(shop: Shop) -> None:
    number = new_job(shop, promised_on="2026-03-04")
    page = shop.signed_in("desk").get(f"/jobs/{number}").text
    assert '<a class="phone" href="tel:+00123456">+00 12 34-56</a>' in page
    assert "promised for Wednesday 4 March 2026" in text_of(page)
    assert "stands at bay 3" in text_of(page)
    floor = shop.signed_in("technician").get(f"/jobs/{number}").text
    assert "tel:" not in floor
    assert "stands at bay 3" in text_of(floor)


def test_a_place_that_is_taken_is_told_and_not_refused(shop: Shop) -> None:
    first = new_job(shop, storage_place="bay 9")
    machine = {"make": "Mosfell", "model": "Lom 400", "frame_number": "ZZZTEST00A1000099"}
    second = new_job(shop, storage_place="bay 9", machine=machine)
    desk = shop.signed_in("desk")
    assert f"bay 9 (taken: {first}, {second})" in text_of(desk.get("/check-in").text)
    also = f"At bay 9 stands by the records also: {first}."
    assert also in text_of(desk.get(f"/jobs/{second}").text)
    desk.post(f"/jobs/{first}/cancel", {"reason": "sold", "still_here": "no"})
    assert also not in text_of(desk.get(f"/jobs/{second}").text)
    assert f"bay 9 (taken: {second})" in text_of(desk.get("/check-in").text)


def test_earlier_jobs_of_the_machine_are_told_at_check_in_and_on_the_job(shop: Shop) -> None:
    first = new_job(shop, belongings=[])
    desk = shop.signed_in("desk")
    page = desk.get(f"/jobs/{first}").text
    assert "Further jobs of this machine" not in page
    desk.post(f"/jobs/{first}/hand-over", {"handed_over_to": "Åse Invented"})
    assert "How it was closed" in desk.get(f"/jobs/{first}").text
    known = desk.post("/check-in/look-up", {"take": "1-1"}).text
    told = f"{first}, received 2 March 2026, handed over"
    assert "Here before:" in known
    assert told in known
    second = new_job(shop, machine=None, machine_id=1, customer=None, customer_id=1)
    page = desk.get(f"/jobs/{second}").text
    assert f'href="/jobs/{first}">{told}' in page
    assert "How it was closed" not in page


def test_the_card_is_printed_again_after_the_machine_was_put_right(shop: Shop) -> None:
    number = new_job(shop)
    desk = shop.signed_in("desk")
    page = desk.get(f"/jobs/{number}/machine").text
    assert 'data-frame-number="/check-in/frame-number"' in page
    assert "Read as ZZZTEST00A1000017" in text_of(page)
    form = dict(re.findall(r'name="(\w+)" value="([^"]*)"', page))
    told = desk.post("/check-in/frame-number", {"frame_number": "JZZAAO000XA0001"}).text
    assert "15 characters" in told
    assert "holds “O”" in told
    assert "printed again" not in desk.get(f"/jobs/{number}").text
    form |= {"frame_number": "ZZZTEST00A1000018", "reason": "misread"}
    desk.post(f"/jobs/{number}/machine", form)
    again = "Job card : to be printed again: the machine's details were put right, 2 March 2026"
    assert again in " ".join(text_of(desk.get(f"/jobs/{number}").text).split())
    shop.later(days=1)
    desk = shop.signed_in("desk")
    later = " ".join(text_of(desk.get(f"/jobs/{number}").text).split())
    assert again not in later, "a day later it stands in the list of the desk alone"
    assert again.replace(" :", "") in later
