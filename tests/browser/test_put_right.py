"""What is wrong with a reading is put right at the machine: replaced, taken back while it waits,
and told with the name of whoever took it."""

import re

import pytest
from playwright.sync_api import Page, expect

from app.services import floor
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
)  # fmt: skip
from tests.browser.steps import enter, wait_until
from tests.browser.test_bad_network import WHAT_IS_AHEAD, fetched_ahead, without_network
from tests.databases import NOW

pytestmark = pytest.mark.browser

LEFT = ("146.894", "-467.34", "-805.615")
RIGHT = ("-57.057", "-873.753", "-603.431")
TENFOLD = ("-57.057", "-873.753", "-6034.31")


@pytest.fixture
def place(site: Site) -> str:
    """A measurement whose steps before the first point are done."""
    found = opened(site)
    recorded(site, found, *BEFORE_POINTS)
    return found


def tablet(site: Site, windows: Windows, path: str, who: str = "technician") -> Page:
    page = windows.open(width=820)
    page.add_init_script(WHAT_IS_AHEAD)
    enter(page, site, who, path)
    return page


def taken_by_other(site: Site, place: str, step: str, reading: tuple[str, str, str]) -> None:
    """The owner takes a reading on another tablet."""
    _, _, number, _, draft = place.split("/")
    point = {axis: float(text) for axis, text in zip("xyz", reading, strict=True)}
    with site.database.write() as session:
        floor.take(session, people_of(site)["owner"], number, int(draft), step, [point], None, NOW)


def test_an_implausible_reading_is_replaced_by_the_one_that_is_typed_over_it(
    site: Site, windows: Windows, place: str
) -> None:
    stored(site, place, "pivot.left")
    page = tablet(site, windows, f"{place}/steps/pivot.right")
    fill(page, TENFOLD)
    save(page)
    expect(page.locator("[data-big]")).to_contain_text("Implausible")
    expect(page.get_by_label("Z, mm", exact=True)).to_have_value(TENFOLD[2])
    page.get_by_label("Z, mm", exact=True).fill(RIGHT[2])
    page.get_by_role("button", name="Replace it by this one").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Frame face beside the pivot, left")
    expect(page.locator("[data-big]")).to_contain_text("Taken")
    assert taken(site, place) == [
        ("pivot", "left", None, 146.894),
        ("pivot", "right", None, -57.057),
    ]


def offline(page: Page) -> None:
    """With the next steps fetched, the network goes."""
    fetched_ahead(page)
    without_network(page)


def test_readings_that_wait_are_counted_and_can_be_corrected_or_dropped_before_they_are_sent(
    site: Site, windows: Windows, place: str
) -> None:
    for step in ("pivot.left", "pivot.right", "pivot_face.left", "pivot_face.right"):
        stored(site, place, step)
    page = tablet(site, windows, f"{place}/steps/station.left")
    offline(page)
    first, second = readings("station.left")
    fill(page, first)
    save(page)
    expect(page.locator("[data-waits]")).to_have_text("waiting here: 1")
    strip = page.locator("[data-strip]")
    strip.get_by_role("button", name="Drop it").click()
    expect(page.locator("[data-waits]")).to_have_text("")
    fill(page, second)
    save(page)
    expect(page.locator("[data-waits]")).to_have_text("waiting here: 1")
    strip.get_by_role("button", name="Correct it").click()
    expect(page.get_by_label("X, mm", exact=True)).to_have_value(second[0])
    expect(page.locator("[data-waits]")).to_have_text("")
    page.get_by_label("X, mm", exact=True).fill(first[0])
    page.get_by_label("Y, mm", exact=True).fill(first[1])
    page.get_by_label("Z, mm", exact=True).fill(first[2])
    save(page)
    page.context.set_offline(False)
    sent(page)
    assert [one[3] for one in taken(site, place)[4:]] == [float(first[0])]
    page.close()
    windows.complaints.clear()


def test_what_waited_and_is_implausible_is_shown_when_it_was_sent_and_after_a_reload(
    site: Site, windows: Windows, place: str
) -> None:
    stored(site, place, "pivot.left")
    page = tablet(site, windows, f"{place}/steps/pivot.right")
    offline(page)
    fill(page, TENFOLD)
    save(page)
    expect(page.get_by_role("heading", level=1)).to_have_text("Frame face beside the pivot, left")
    fill(page, readings("pivot_face.left")[0])
    save(page)
    page.context.set_offline(False)
    sent(page)
    expect(page.get_by_role("heading", level=1)).to_have_text("Pivot axis, right end")
    expect(page.get_by_role("button", name="Replace it by this one")).to_be_visible()
    page.goto(f"{site.address}{place}/steps/pivot.right")
    expect(page.get_by_role("button", name="Replace it by this one")).to_be_visible()
    page.goto(f"{site.address}{place}")
    expect(page.get_by_text("implausible reading", exact=True)).to_be_visible()
    expect(
        page.get_by_role("button", name=re.compile("Take back: Pivot axis, right"))
    ).to_be_visible()
    page.close()
    windows.complaints.clear()


def test_what_somebody_else_takes_comes_with_the_name_and_a_second_one_is_called_a_repeat(
    site: Site, windows: Windows, place: str
) -> None:
    page = tablet(site, windows, f"{place}/steps/pivot.left")
    expect(page.locator("[data-counted]")).to_have_text("0 of 1 point")
    page.get_by_label("X, mm", exact=True).fill("146.9")
    taken_by_other(site, place, "pivot.left", LEFT)
    expect(page.locator("[data-big]")).to_contain_text("Taken by owner")
    expect(page.locator("[data-counted]")).to_have_text("1 of 1 point")
    expect(page.get_by_label("X, mm", exact=True)).to_have_value("146.9")
    fill(page, LEFT)
    save(page)
    expect(page.get_by_text("Another reading of the same point? owner took it")).to_be_visible()
    page.get_by_role("button", name="Take it back", exact=True).click()
    expect(page.get_by_text("Another reading of the same point?")).to_have_count(0)
    assert len(taken(site, place)) == 1
    taken_by_other(site, place, "pivot.right", RIGHT)
    expect(page.locator("[data-big]")).to_contain_text("Taken by owner")
    expect(page.get_by_role("button", name="Take it back", exact=True)).to_be_visible()


def test_without_a_script_nothing_is_submitted_before_what_was_noticed_is_ticked(
    site: Site, windows: Windows, place: str
) -> None:
    steps = (
        "pivot.left", "pivot.right", "pivot_face.left", "pivot_face.right", "station.left",
        "station.half_left", "station.ahead", "station.half_right", "station.right", "head_face",
        "return.station", "return.pivot_face.left", "return.pivot.left", "return.pivot.right",
    )  # fmt: skip
    for step in steps:
        stored(site, place, step)
    taken_by_other(site, place, "pivot_face.right", readings("pivot_face.left")[0])
    page = windows.open(javascript=False, width=820)
    enter(page, site, "technician", place)
    button = page.get_by_role("button", name="Submit this measurement")
    button.click()
    assert page.url.endswith(place)
    page.get_by_role("checkbox", name=re.compile("I have read what was noticed")).check()
    button.click()
    page.wait_for_url(re.compile("/surveys/1$|/submit$"))


def test_the_script_counts_what_waits_only_for_the_step_that_is_shown(
    site: Site, windows: Windows, place: str
) -> None:
    page = tablet(site, windows, f"{place}/steps/pivot.left")
    offline(page)
    fill(page, LEFT)
    save(page)
    expect(page.get_by_role("heading", level=1)).to_have_text("Pivot axis, right end")
    expect(page.locator("[data-waits]")).to_have_text("")
    page.locator("[data-strip]").get_by_role("button", name="Correct it").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Pivot axis, left end")
    expect(page.get_by_label("X, mm", exact=True)).to_have_value(LEFT[0])
    page.context.set_offline(False)
    wait_until(page, "navigator.onLine")
    assert taken(site, place) == []
    page.close()
    windows.complaints.clear()
