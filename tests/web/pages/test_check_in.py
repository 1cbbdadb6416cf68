"""Checking a machine in, and finding it in today's list."""

import pytest

from tests.services.forms import FRAME_NUMBER, check_in_form
from tests.web.shop import Shop, new_job, text_of
from tests.web.test_failures import flat


def test_a_machine_is_checked_in_and_appears_in_the_list(shop: Shop) -> None:
    desk = shop.signed_in("desk")
    answer = desk.post("/check-in", flat(check_in_form()))
    assert answer.status_code == 303
    assert answer.headers["location"] == "/jobs/J-2026-0001"
    page = text_of(desk.get("/jobs/J-2026-0001").text)
    for shown in (FRAME_NUMBER, "Åse Invented", "Invented Mutual", "CL/2026-77", "AB-12 CD"):
        assert shown in page
    assert "fork bent; left handlebar broken" in page
    assert "Ran into the back of a van." in page
    assert "J-2026-0001" in text_of(desk.get("/").text)


def test_an_odd_frame_number_is_taken_and_warned_about(shop: Shop) -> None:
    desk = shop.signed_in("desk")
    form = {**flat(check_in_form()), "machine.frame_number": "AB 123"}
    page = desk.get(desk.post("/check-in", form).headers["location"]).text
    assert 'class="notice warn"' in page
    assert "AB123" in page


def test_everything_that_is_wrong_is_told_at_once_beside_its_field(shop: Shop) -> None:
    form = {
        **flat(check_in_form()),
        "customer.name": "",
        "machine.year": "next year",
        "incident.clock_direction": "13",
        "incident.happened_on": "2026-13-01",
        "odometer_km": "-5",
    }
    answer = shop.signed_in("desk").post("/check-in", form)
    assert answer.status_code == 422
    assert "<title>Error:" in answer.text
    for field in (
        "customer.name", "machine.year", "incident.clock_direction", "incident.happened_on",
        "odometer_km",
    ):  # fmt: skip
        assert f'<a href="#{field}">' in answer.text
        assert f'id="{field}-wrong1"' in answer.text
        assert f'aria-describedby="{field}' in answer.text
    assert 'value="Fjordmark"' in answer.text


def test_what_is_wrong_is_told_by_the_labels_of_the_page(shop: Shop) -> None:
    form = {key: v for key, v in flat(check_in_form()).items() if not key.startswith("customer.")}
    desk = shop.signed_in("desk")
    text = text_of(desk.post("/check-in", {**form, "odometer_km": "many"}).text)
    assert "The customer's name is missing" in text
    assert "Odometer is “many”" in text
    assert "Name (needed)" in text


@pytest.mark.parametrize("typed", ["12 345", "12\N{THIN SPACE}345", "12345"])
def test_an_odometer_is_read_with_or_without_a_space_for_the_thousands(
    shop: Shop, typed: str
) -> None:
    desk = shop.signed_in("desk")
    answer = desk.post("/check-in", {**flat(check_in_form()), "odometer_km": typed})
    assert answer.status_code == 303
    assert "12345" in text_of(desk.get(answer.headers["location"]).text)


def test_a_group_left_empty_is_told_where_it_stands(shop: Shop) -> None:
    form = {key: v for key, v in flat(check_in_form()).items() if not key.startswith("machine.")}
    answer = shop.signed_in("desk").post("/check-in", form)
    assert answer.status_code == 422
    assert 'href="#machine' in answer.text


def test_a_known_machine_is_not_asked_for_again(shop: Shop) -> None:
    new_job(shop)
    desk = shop.signed_in("desk")
    found = desk.post("/check-in/look-up", {"machine.plate": "ab12cd"}).text
    assert 'name="take" value="1-1"' in found
    page = desk.post("/check-in/look-up", {"machine.plate": "ab12cd", "take": "1-1"}).text
    assert 'name="customer_id" value="1"' in page
    assert "machine.frame_number" not in page


def test_a_customer_id_that_is_not_on_record_is_not_found(shop: Shop) -> None:
    assert shop.signed_in("desk").get("/check-in?customer_id=99").status_code == 404


def test_the_list_is_searched_and_filtered_by_its_address(shop: Shop) -> None:
    number = new_job(shop)
    desk = shop.signed_in("desk")
    assert number in desk.get("/?q=skarv").text
    assert number in desk.get("/?q=ab12cd&role=technician").text
    assert number not in desk.get("/?role=inspector").text
    nothing = text_of(desk.get("/?q=nothing-of-the-kind").text)
    assert "No job fits this search" in nothing
    assert desk.get("/?role=nonsense").status_code == 200


def test_a_cancelled_job_takes_nothing_more(shop: Shop) -> None:
    number = new_job(shop)
    desk = shop.signed_in("desk")
    refused = desk.post(f"/jobs/{number}/cancel", {"reason": " "})
    assert refused.status_code == 422
    assert '<a href="#reason">' in refused.text
    assert desk.post(f"/jobs/{number}/cancel", {"reason": "taken away"}).status_code == 303
    page = text_of(desk.get(f"/jobs/{number}").text)
    assert "Nothing is left to do" in page
    assert "taken away" in page
    again = desk.post(f"/jobs/{number}/hand-over", {"handed_over_to": "Åse"})
    assert again.status_code == 409
    assert desk.post(f"/jobs/{number}/reopen", {"reason": ""}).status_code == 422
    assert desk.post(f"/jobs/{number}/reopen", {"reason": "it came back"}).status_code == 303
    assert "Choose the reference" in text_of(desk.get(f"/jobs/{number}").text)
