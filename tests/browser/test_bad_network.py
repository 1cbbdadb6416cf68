"""Readings on a bad network: none is lost, none is stored twice, and the page says which it is."""

import json
import re
from datetime import UTC, datetime

import pytest
from playwright.sync_api import Page, Route, expect

from app.services import sessions
from tests.browser.conftest import Site, Windows
from tests.browser.floor_steps import (
    BEFORE_POINTS,
    fill,
    opened,
    people_of,
    readings,
    recorded,
    save,
    sent,
    stored,
    taken,
)
from tests.browser.steps import enter, sign_in, sign_out, wait_until

pytestmark = pytest.mark.browser

LEFT = ("146.894", "-467,34", "-805.615")
RIGHT = ("-57.057", "-873.753", "-603.431")
STORED = [("pivot", "left", None, 146.894), ("pivot", "right", None, -57.057)]

WHAT_IS_AHEAD = """(() => {
  const set = Map.prototype.set;
  window.ahead = new Set();
  Map.prototype.set = function (key, value) {
    if (typeof key === "string" && key.includes("/steps/")) window.ahead.add(key);
    return set.call(this, key, value);
  };
})()"""
"""Tells the test which pages the script has for the time without network."""


@pytest.fixture
def place(site: Site) -> str:
    """A measurement whose steps before the first point are done."""
    found = opened(site)
    recorded(site, found, *BEFORE_POINTS)
    return found


@pytest.fixture
def page(site: Site, windows: Windows, place: str) -> Page:
    """The technician's tablet at the first point."""
    opened_page = windows.open(width=820)
    opened_page.add_init_script(WHAT_IS_AHEAD)
    enter(opened_page, site, "technician", f"{place}/steps/pivot.left")
    return opened_page


def fetched_ahead(page: Page) -> None:
    """Wait until the script has the next steps' pages."""
    wait_until(page, "window.ahead.size >= 3")


def without_network(page: Page) -> None:
    """Take the network away, and wait until the page knows."""
    page.context.set_offline(True)
    expect(page.get_by_text("Do not load this page again")).to_be_visible()


def kept(page: Page, reading: tuple[str, str, str], count: int) -> None:
    """Type a reading and save it; wait until the page keeps so many and can take the next one."""
    fill(page, reading)
    save(page)
    expect(page.locator("[data-strip]")).to_contain_text(f"kept in this browser: {count}")
    expect(page.locator("form[data-sent]")).to_have_count(0)
    expect(page.get_by_label("X, mm", exact=True)).to_have_value("")


def unsent(page: Page) -> int:
    """How many readings the browser keeps."""
    count: int = page.evaluate(
        "Object.keys(localStorage).filter((one) => one.startsWith('jigbook.unsent.')).length"
    )
    return count


def test_without_network_the_work_goes_on_and_everything_is_stored_in_order(
    site: Site, windows: Windows, page: Page, place: str
) -> None:
    fetched_ahead(page)
    away = page.get_by_text("Do not load this page again")
    expect(away).to_be_hidden()
    without_network(page)
    fill(page, LEFT)
    save(page)
    expect(page.get_by_role("heading", level=1)).to_have_text("Pivot axis, right end")
    expect(away).to_be_visible()
    expect(page.locator("[data-strip]")).to_contain_text("Waiting for the network")
    fill(page, RIGHT)
    save(page)
    expect(page.get_by_role("heading", level=1)).to_have_text("Frame face beside the pivot, left")
    assert unsent(page) == 2
    assert taken(site, place) == []
    page.context.set_offline(False)
    expect(page.locator("[data-strip]")).to_contain_text("Saved")
    expect(away).to_be_hidden()
    assert unsent(page) == 0
    assert taken(site, place) == STORED
    windows.complaints.clear()


def test_without_network_the_drawing_marks_the_next_target_and_kept_is_gone_once_it_is_stored(
    site: Site, windows: Windows, page: Page, place: str
) -> None:
    for step in ("pivot.left", "pivot.right", "pivot_face.left", "pivot_face.right"):
        stored(site, place, step)
    page.goto(f"{site.address}{place}/steps/station.left")
    fetched_ahead(page)
    marked = page.locator(".where title")
    expect(page.locator(".where")).to_be_visible()
    first = str(marked.text_content())
    without_network(page)
    kept(page, readings("station.left")[0], 1)
    expect(page.locator(".where")).to_be_visible()
    expect(marked).not_to_have_text(first)
    expect(page.locator("[data-big]")).to_contain_text("Kept in this browser")
    page.context.set_offline(False)
    expect(page.locator("[data-strip]")).to_contain_text("Saved")
    expect(page.locator(".where")).to_be_visible()
    expect(page.get_by_text("Kept in this browser")).to_be_hidden()
    assert len(taken(site, place)) == 5
    windows.complaints.clear()


def test_what_the_browser_keeps_is_listed_with_its_numbers(windows: Windows, page: Page) -> None:
    fetched_ahead(page)
    without_network(page)
    fill(page, LEFT)
    save(page)
    line = "Pivot axis, left end X 146.894 Y -467.34 Z -805.615"
    expect(page.locator("[data-big]")).to_have_text(f"Kept in this browser{line}")
    fill(page, RIGHT)
    save(page)
    strip = page.locator("[data-strip] [data-why]")
    expect(strip).to_contain_text("Readings kept in this browser: 2")
    expect(strip).to_contain_text(line)
    expect(strip).to_contain_text("Pivot axis, right end X -57.057 Y -873.753 Z -603.431")
    page.close()
    windows.complaints.clear()


def test_without_network_the_page_goes_on_to_an_open_step_or_stays_and_says_so(
    site: Site, windows: Windows, page: Page, place: str
) -> None:
    """Half left is measured anew when straight ahead is done: that step is not shown again."""
    steps = ("pivot.left", "pivot.right", "pivot_face.left", "pivot_face.right")
    for step in (*steps, "station.left", "station.half_left", "station.ahead"):
        stored(site, place, step)
    page.goto(f"{site.address}{place}/steps/station.half_left")
    fetched_ahead(page)
    without_network(page)
    for count, reading in enumerate(readings("station.half_left"), 1):
        kept(page, reading, count)
    expect(page.get_by_role("heading", level=1)).to_have_text("Steering half to the right")
    right = readings("station.half_right") + readings("station.right")
    for count, reading in enumerate(right, 3):
        kept(page, reading, count)
    heading = page.get_by_role("heading", level=1)
    expect(heading).to_have_text("Lower face of the steering head")
    for count, reading in enumerate(readings("head_face"), 7):
        kept(page, reading, count)
    expect(heading).to_have_text("Lower face of the steering head")
    expect(page.locator("[data-big]")).to_contain_text("This page stays")
    expect(page.get_by_label("X, mm", exact=True)).to_have_value("")
    page.close()
    windows.complaints.clear()


def test_without_network_no_way_leads_to_the_browsers_page_of_errors(
    windows: Windows, page: Page, place: str
) -> None:
    fetched_ahead(page)
    without_network(page)
    ways = (
        page.get_by_role("link", name="All steps").first,
        page.get_by_role("link", name="Targets on the steering"),
        page.get_by_role("button", name="Sign out"),
    )
    save(page)
    expect(page.locator("[data-big]")).to_contain_text("No network")
    for way in ways:
        page.evaluate("document.querySelector('[data-big]').textContent = ''")
        way.click()
        expect(page.locator("[data-big]")).to_contain_text("No network")
        expect(page.get_by_role("heading", level=1)).to_have_text("Pivot axis, left end")
    page.get_by_role("link", name="Pivot axis, right end").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Pivot axis, right end")
    page.go_back()
    expect(page).to_have_url(re.compile("/steps/pivot.right$"))
    expect(page.locator("[data-big]")).to_contain_text("No network")
    expect(page.get_by_role("heading", level=1)).to_have_text("Pivot axis, right end")
    page.close()
    windows.complaints.clear()


def test_what_waits_survives_a_reload_and_is_sent_from_any_page(
    site: Site, windows: Windows, page: Page, place: str
) -> None:
    page.route("**/steps/pivot.left", lambda route: route.abort())
    fill(page, LEFT)
    save(page)
    expect(page.locator("[data-strip]")).to_contain_text("Waiting for the network")
    page.unroute("**/steps/pivot.left")
    page.goto(site.address)
    sent(page)
    assert taken(site, place) == STORED[:1]
    windows.complaints.clear()


def test_a_half_typed_reading_survives_a_reload(page: Page) -> None:
    page.get_by_label("X, mm", exact=True).fill("146.8")
    page.get_by_label("Y, mm", exact=True).fill("-467")
    page.reload()
    shown = [page.get_by_label(f"{axis}, mm", exact=True).input_value() for axis in "XYZ"]
    assert shown == ["146.8", "-467", ""]


def test_a_reading_whose_answer_was_lost_is_stored_once(
    site: Site, windows: Windows, page: Page, place: str
) -> None:
    tries = []

    def lose_the_first(route: Route) -> None:
        answer = route.fetch()
        tries.append(answer.status)
        if len(tries) == 1:
            route.abort()
        else:
            route.fulfill(response=answer)

    page.route(re.compile("/steps/pivot.left$"), lose_the_first)
    fill(page, LEFT)
    save(page)
    sent(page)
    assert len(tries) >= 2
    assert taken(site, place) == STORED[:1]
    expect(page.locator("[data-strip]")).to_contain_text("Saved")
    windows.complaints.clear()


def test_a_form_sent_twice_without_a_script_is_stored_once(
    site: Site, windows: Windows, place: str
) -> None:
    """The answer is lost, and the browser's own reload sends the form again."""
    page = windows.open(javascript=False)
    enter(page, site, "technician", f"{place}/steps/pivot.left")
    key = page.locator("form[data-keep] input[name=request_key]").input_value()
    token = page.locator("form[data-keep] input[name=form_token]").input_value()
    form: dict[str, str | float | bool] = {"form_token": token, "request_key": key}
    form.update({f"readings.0.{axis}": text for axis, text in zip("xyz", LEFT, strict=True)})
    for _ in range(2):
        answer = page.request.post(
            f"{site.address}{place}/steps/pivot.left",
            form=form,
            headers={"Origin": site.address},
            max_redirects=0,
        )
        assert answer.status == 303
    assert taken(site, place) == STORED[:1]


def test_a_reading_that_is_refused_later_is_kept_and_can_be_corrected(
    site: Site, windows: Windows, page: Page, place: str
) -> None:
    fetched_ahead(page)
    without_network(page)
    fill(page, ("146.894", "12abc", "-805.615"))
    save(page)
    expect(page.get_by_role("heading", level=1)).to_have_text("Pivot axis, right end")
    page.context.set_offline(False)
    expect(page.locator("[data-strip]")).to_contain_text("Not saved")
    expect(page.locator("[data-strip]")).to_contain_text("12abc")
    page.get_by_role("button", name="Correct it").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Pivot axis, left end")
    expect(page.get_by_label("Y, mm", exact=True)).to_have_value("12abc")
    page.get_by_label("Y, mm", exact=True).fill(LEFT[1])
    save(page)
    expect(page.locator("[data-big]")).to_contain_text("Taken")
    assert taken(site, place) == STORED[:1]
    windows.complaints.clear()


def test_signing_out_keeps_what_was_not_sent_for_the_one_who_took_it(
    site: Site, windows: Windows, page: Page, place: str
) -> None:
    page.route("**/steps/pivot.left", lambda route: route.abort())
    fill(page, LEFT)
    save(page)
    expect(page.locator("[data-strip]")).to_contain_text("Waiting for the network")
    sign_out(page, site.address)
    page.unroute("**/steps/pivot.left")
    enter(page, site, "inspector", place)
    expect(page.locator("[data-strip]")).to_contain_text("somebody else")
    assert unsent(page) == 1
    sign_out(page, site.address)
    enter(page, site, "technician")
    sent(page)
    assert taken(site, place) == STORED[:1]
    windows.complaints.clear()


def test_readings_wait_until_somebody_signs_in_again(
    site: Site, windows: Windows, page: Page, place: str
) -> None:
    people = people_of(site)
    with site.database.write() as session:
        sessions.end_all_of(
            session, people["owner"], people["technician"].person_id or 0, datetime.now(UTC)
        )
    fill(page, LEFT)
    save(page)
    expect(page.locator("[data-strip]")).to_contain_text("Sign in again")
    assert unsent(page) == 1
    assert taken(site, place) == []
    sign_in(page, site.address, "technician")
    sent(page)
    assert taken(site, place) == STORED[:1]


def test_a_browser_that_keeps_nothing_sends_the_form_its_ordinary_way(
    site: Site, page: Page, place: str
) -> None:
    page.evaluate(
        "() => { Storage.prototype.setItem = () => { throw new DOMException('full'); }; }"
    )
    fill(page, LEFT)
    save(page)
    expect(page.locator("[data-big]")).to_contain_text("Taken")
    assert taken(site, place) == STORED[:1]


def test_two_tablets_on_one_measurement_see_each_others_points(
    site: Site, windows: Windows, page: Page, place: str
) -> None:
    other = windows.open(width=820)
    enter(other, site, "inspector", f"{place}/steps/pivot.right")
    fill(page, LEFT)
    save(page)
    expect(other.locator("[data-big]")).to_contain_text("146.894")
    fill(other, RIGHT)
    save(other)
    expect(other.locator("[data-big]")).to_contain_text("-57.057")
    assert taken(site, place) == STORED


def test_nothing_that_the_browser_keeps_says_a_name(windows: Windows, page: Page) -> None:
    page.route("**/steps/pivot.left", lambda route: route.abort())
    fill(page, LEFT)
    save(page)
    expect(page.locator("[data-strip]")).to_contain_text("Waiting for the network")
    entries: dict[str, str] = page.evaluate("Object.fromEntries(Object.entries(localStorage))")
    (entry,) = [json.loads(text) for name, text in entries.items() if "unsent" in name]
    assert set(entry) == {"person", "action", "key", "what", "fields"}
    assert entry["what"] == "Pivot axis, left end"
    assert entry["person"].isdecimal()
    assert "form_token" not in dict(entry["fields"])
    assert "Technician" not in json.dumps(entries)
    page.close()
    windows.complaints.clear()
