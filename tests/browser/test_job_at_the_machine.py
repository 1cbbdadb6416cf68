"""The job's page, the visual check and all numbers on a tablet that hands in gloves hold."""

import re
from datetime import timedelta

import pytest
from playwright.sync_api import Page, ViewportSize, expect

from app.services import sending_back
from tests.browser.conftest import Site, Windows
from tests.browser.steps import enter, follow, follow_button, violations
from tests.databases import NOW
from tests.web.shop import Shop, actors_of, measured_job

pytestmark = pytest.mark.browser

TABLET = ViewportSize(width=820, height=1180)
PHONE = ViewportSize(width=320, height=640)
DESK = ViewportSize(width=1366, height=900)
SMALLEST_PX = 48
ACTS = (
    "Answer without measuring again", "Another measurement", "Visual check", "Add photos",
    "Note a correction", "Measure before correction",
)  # fmt: skip
"""What a technician reaches from a job's page with a thumb."""


@pytest.fixture
def shop(site: Site) -> Shop:
    people = actors_of(site.database)
    return Shop(lambda *_: None, site.database, people, {"now": NOW})  # type: ignore[arg-type]


@pytest.fixture
def number(shop: Shop) -> str:
    """A bent machine that was measured, and sent back by the inspector."""
    number = measured_job(shop)
    later = shop.clock["now"] + timedelta(minutes=5)
    with shop.database.write() as session:
        person = shop.people["inspector"]
        sending_back.send_back(session, person, number, "Which adjuster was read?", later)
    return number


def sideways_px(page: Page) -> int:
    """By how much the page is wider than the window."""
    return int(page.evaluate("document.documentElement.scrollWidth - innerWidth"))


def test_what_leads_on_from_a_job_is_large_enough_for_gloves(
    site: Site, windows: Windows, number: str
) -> None:
    page = windows.open(width=TABLET["width"])
    enter(page, site, "technician", f"/jobs/{number}")
    for name in ACTS:
        found = page.get_by_role("main").get_by_role("link", name=name, exact=True)
        expect(found).to_have_count(1)
        box = found.bounding_box()
        assert box is not None
        assert box["height"] >= SMALLEST_PX, name
    assert violations(page) == []


def test_all_numbers_are_read_without_moving_the_page_sideways(
    site: Site, windows: Windows, number: str
) -> None:
    page = windows.open(width=TABLET["width"])
    enter(page, site, "technician", f"/jobs/{number}/surveys/1/numbers")
    for size in (TABLET, PHONE, DESK):
        page.set_viewport_size(size)
        assert sideways_px(page) <= 0, size
        cells = page.locator("table.numbers tbody td, table.numbers tbody th")
        reach = cells.evaluate_all("all => all.map(one => one.getBoundingClientRect().right)")
        assert max(reach) <= size["width"], size
    page.set_viewport_size(TABLET)
    row = page.get_by_role("row").filter(has_text="head twist").first
    expect(row).to_contain_text("outside")
    assert violations(page) == []


@pytest.mark.parametrize("script", [True, False])
def test_a_crack_is_answered_otherwise_only_with_what_was_done(
    site: Site, windows: Windows, number: str, script: bool
) -> None:
    page = windows.open(width=TABLET["width"], javascript=script)
    item = f"/jobs/{number}/visual-check/wheel_cracks"
    enter(page, site, "technician", item)
    page.get_by_label("front").check()
    follow_button(page, "Save as seen")
    page.goto(f"{site.address}{item}")
    page.get_by_role("link", name="Looked, nothing seen").click()
    expect(page).to_have_url(re.compile("#since$"))
    page.get_by_role("button", name="Looked again, nothing seen").click()
    expect(page.get_by_text("On record as seen: cracks in the wheels").first).to_be_visible()
    page.get_by_label("The part was replaced").check()
    page.get_by_label("What was done, and by whom").fill("new front wheel, by Tove")
    follow_button(page, "Looked again, nothing seen")
    enter(page, site, "technician", f"/jobs/{number}/surveys/1")
    seen = page.get_by_text("At the visual check was seen: cracks in the wheels (front).")
    expect(seen).to_be_visible()
    expect(page.get_by_text("cracks in the wheels (front): replaced")).to_be_visible()
    follow(page, page.get_by_role("link", name="To the job"))
    holds = page.get_by_role("region", name="Holds")
    expect(holds).to_contain_text("Only an inspector closes it.")
    expect(holds).to_contain_text("Replaced: new front wheel, by Tove")
