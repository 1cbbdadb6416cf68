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
    page = desk.get(f"/jobs/{number}").text
    assert f'class="go" href="/jobs/{number}/order"' in page
    assert "Changed since it was signed: Frame number, Left with the machine." in text_of(page)
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


def change_order(desk: Visitor, number: str, **said: str) -> int:
    form = filled(desk.get(f"/jobs/{number}/check-in").text) | said
    return desk.post(f"/jobs/{number}/check-in", form).status_code


def test_what_is_ordered_is_changed_and_has_to_be_signed_anew(shop: Shop, desk: Visitor) -> None:
    number = new_job(shop, authorised_by="")
    sign(desk, number)
    assert change_order(desk, number, order="correct") == 303
    job = text_of(desk.get(f"/jobs/{number}").text)
    assert "measure, report, and correct what may be corrected" in job
    assert "changed since it was signed: What is ordered" in job
    told = "measure, report, and correct what may be corrected instead of measure and report"
    assert f"What is ordered: {told}" in text_of(desk.get(f"/jobs/{number}/order").text)


def test_an_order_in_words_of_its_own_is_kept_and_shown_again(shop: Shop, desk: Visitor) -> None:
    number = new_job(shop)
    said = {"order": "otherwise", "authorised_scope": "measure the fork alone"}
    assert change_order(desk, number, **said) == 303
    form = filled(desk.get(f"/jobs/{number}/check-in").text)
    assert {name: form[name] for name in said} == said
    assert change_order(desk, number, order="otherwise", authorised_scope="") == 422
    assert change_order(desk, number, order="measure") == 303
    assert filled(desk.get(f"/jobs/{number}/check-in").text)["authorised_scope"] == ""


DONE = {"text": "stem replaced"}


@pytest.mark.parametrize(
    ("check_in", "told"),
    [
        ({}, "Ordered is: measure and report. No correction is ordered."),
        ({"authorised_by": ""}, "Nobody has given the order yet"),
        (
            {"authorised_scope": "measure, and straighten the stem"},
            "Ordered in words of its own is: measure, and straighten the stem.",
        ),
        ({"authorised_scope": ""}, "Ordered is: not stated. No correction is ordered."),
    ],
    ids=["measuring_alone", "not_given", "own_words", "not_stated"],
)
def test_a_correction_that_is_not_ordered_needs_the_customers_word(
    shop: Shop, check_in: dict[str, str], told: str
) -> None:
    number = new_job(shop, **check_in)
    technician, place = shop.signed_in("technician"), f"/jobs/{number}/correction"
    assert told in text_of(technician.get(place).text)
    before = shop.digest()
    for sent, anchor in (
        (DONE, "agreed"),
        ({**DONE, "agreed_by": "Åse"}, "agreed"),
        ({**DONE, "agreed": "yes"}, "agreed_by"),
    ):
        answer = technician.post(place, sent)
        assert answer.status_code == 422
        assert f'<a href="#{anchor}">' in answer.text
        assert shop.digest() == before
    answer = technician.post(place, {**DONE, "agreed": "yes", "agreed_by": "Åse by telephone"})
    assert answer.headers["location"] == f"/jobs/{number}"
    noted = text_of(technician.get(f"/jobs/{number}/notes").text)
    assert "Åse by telephone was asked and agreed to this correction: stem replaced" in noted


def test_a_correction_that_is_ordered_is_noted_without_a_word(shop: Shop, desk: Visitor) -> None:
    number = new_job(shop, authorised_by="")
    assert change_order(desk, number, order="correct") == 303
    sign(desk, number)
    technician, place = shop.signed_in("technician"), f"/jobs/{number}/correction"
    page = technician.get(place).text
    assert 'name="agreed"' not in page
    assert "Ordered is: measure, report, and correct" in text_of(page)
    assert technician.post(place, DONE).status_code == 303
    assert "stem replaced" in text_of(technician.get(f"/jobs/{number}").text)


def test_an_order_that_was_changed_and_not_signed_does_not_hold_for_a_correction(
    shop: Shop, desk: Visitor
) -> None:
    number = new_job(shop, authorised_by="")
    sign(desk, number)
    assert change_order(desk, number, order="correct") == 303
    page = text_of(shop.signed_in("technician").get(f"/jobs/{number}/correction").text)
    assert "What is ordered was changed since the customer signed for it." in page
