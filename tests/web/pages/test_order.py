"""The order after it was signed: a signature stands under what was signed, on the page and card."""

import json

import pytest

from tests.web.pages.test_check_in_change import filled, machine_form
from tests.web.shop import Shop, Visitor, new_job, text_of

STROKES = json.dumps([[[100, 200], [300, 100], [500, 220], [700, 90]]])
OLD, NEW = "ZZZTEST00A1000017", "ZZZTEST00A1000099"


@pytest.fixture
def desk(shop: Shop) -> Visitor:
    return shop.signed_in("desk")


@pytest.fixture
def number(shop: Shop, desk: Visitor) -> str:
    """A job whose order was signed and whose check-in was changed afterwards."""
    number = new_job(shop, authorised_by="", belongings=["one key"])
    sign(desk, number)
    assert "changed since it was signed" not in text_of(desk.get("/").text)
    desk.post(f"/jobs/{number}/machine", machine_form(desk, number) | {"frame_number": NEW})
    form = filled(desk.get(f"/jobs/{number}/check-in").text) | {"belongings": "one key\na helmet"}
    assert desk.post(f"/jobs/{number}/check-in", form).status_code == 303
    return number


def sign(desk: Visitor, number: str) -> None:
    sent = {"purpose": "authorisation", "name": "Åse", "strokes": STROKES, "how": "screen"}
    assert desk.post(f"/jobs/{number}/order", sent).status_code == 303


def test_the_order_shows_what_was_signed_above_the_signature_and_what_changed_below(
    desk: Visitor, number: str
) -> None:
    page = desk.get(f"/jobs/{number}/order").text
    box = text_of(page[page.index('<section class="notice warn"') : page.index('class="columns"')])
    before, after = box.split("Changed after signing:")
    assert OLD in before
    assert NEW not in before
    assert "a helmet" not in before
    assert f"Frame number: {NEW} instead of {OLD}" in after
    assert "Left with the machine: one key; a helmet instead of one key" in after
    assert "Have the customer sign for what stands now" in after


def test_the_card_shows_the_signed_text_and_a_place_for_a_new_signature(
    desk: Visitor, number: str
) -> None:
    page = desk.get(f"/jobs/{number}/card").text
    order = page[page.index('<section class="signing">') :]
    order = order[: order.index("</section>")]
    said = text_of(order)
    assert OLD in said.split("Changed after signing:")[0]
    assert NEW not in said.split("Changed after signing:")[0]
    assert f"Frame number: {NEW} instead of {OLD}" in said
    assert '<p class="line">' in order


@pytest.mark.parametrize("role", ["desk", "technician", "owner"])
def test_the_list_and_the_job_tell_that_it_was_changed_since(
    shop: Shop, number: str, role: str
) -> None:
    somebody = shop.signed_in(role)
    assert "changed since it was signed" in text_of(somebody.get("/").text)
    assert "changed since it was signed" in text_of(somebody.get(f"/jobs/{number}").text)


def test_the_desk_is_led_to_the_new_signature_which_settles_it(desk: Visitor, number: str) -> None:
    assert f'class="go" href="/jobs/{number}/order"' in desk.get(f"/jobs/{number}").text
    sign(desk, number)
    for place in ("/", f"/jobs/{number}", f"/jobs/{number}/order", f"/jobs/{number}/card"):
        said = text_of(desk.get(place).text)
        assert "changed since it was signed" not in said
        assert "Changed after signing" not in said


def test_no_box_is_ticked_before_the_customer_has_read(shop: Shop, desk: Visitor) -> None:
    number = new_job(shop, authorised_by="")
    page = desk.get(f"/jobs/{number}/order").text
    assert page.count('type="checkbox" name="purpose"') == 2
    assert "checked" not in page
    answer = desk.post(f"/jobs/{number}/order", {"name": "Åse", "strokes": STROKES})
    assert answer.status_code == 422
    assert '<a href="#purpose">' in answer.text
