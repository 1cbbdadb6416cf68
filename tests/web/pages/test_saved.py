"""After something was saved the next page says so once, in a quiet line, without a script."""

import pytest

from tests.web.pages.test_check_in_change import filled, machine_form
from tests.web.shop import Shop, Visitor, new_job

LINE = '<p class="muted" role="status">Saved.</p>'


@pytest.fixture
def desk(shop: Shop) -> Visitor:
    return shop.signed_in("desk")


def test_it_is_told_once_and_on_that_page_alone(shop: Shop, desk: Visitor) -> None:
    number = new_job(shop)
    assert LINE not in desk.get(f"/jobs/{number}").text
    form = filled(desk.get(f"/jobs/{number}/check-in").text) | {"storage_place": "bay 9"}
    assert desk.post(f"/jobs/{number}/check-in", form).status_code == 303
    assert LINE not in desk.get("/").text
    assert LINE not in desk.get(f"/jobs/{number}/order").text
    assert LINE in desk.get(f"/jobs/{number}").text
    assert LINE not in desk.get(f"/jobs/{number}").text


def test_what_was_refused_is_not_told_as_saved(shop: Shop, desk: Visitor) -> None:
    number = new_job(shop)
    refused = desk.post(f"/jobs/{number}/notes", {"words": " "})
    assert refused.status_code == 422
    assert LINE not in refused.text
    assert LINE not in desk.get(f"/jobs/{number}/notes").text
    desk.post(f"/jobs/{number}/machine", machine_form(desk, number) | {"plate": "XY-9"})
    assert LINE in desk.get(f"/jobs/{number}").text


def test_the_cookie_of_it_is_short_lived_and_no_scripts(shop: Shop, desk: Visitor) -> None:
    number = new_job(shop)
    answer = desk.post(f"/jobs/{number}/notes", {"words": "The left bar is loose."})
    said = answer.headers["set-cookie"]
    for part in (f"Path=/jobs/{number}/notes", "Max-Age=20", "HttpOnly", "SameSite=lax"):
        assert part in said
