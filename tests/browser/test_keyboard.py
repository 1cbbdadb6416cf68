"""The keyboard alone: whatever can be done on a page is reached by Tab, seen there, and works."""

import re

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import Site, Windows
from tests.browser.floor_steps import BEFORE_POINTS, opened, people_of, recorded, taken
from tests.databases import NOW
from tests.services.staff import PASSWORD
from tests.web.shop import Shop, measured_job

pytestmark = pytest.mark.browser

MOST_STOPS = 250
BOTH = ("before-head-bent.json", "after-corrected.json")

HERE = """() => {
  const one = document.activeElement;
  const box = one.getBoundingClientRect();
  const style = getComputedStyle(one);
  const label = [...(one.labels || [])].at(-1);
  return {
    says: (label || one).textContent.trim().replace(/\\s+/g, " "),
    address: one.getAttribute("href") || "",
    name: one.getAttribute("name") || "",
    kind: one.localName,
    ringed: parseFloat(style.outlineWidth) >= 2 && style.outlineStyle !== "none",
    inView: box.top < innerHeight && box.bottom > 0 && box.left < innerWidth && box.right > 0,
  };
}"""
"""What has the focus, and whether somebody who looks can tell."""


def go_to(page: Page, wanted: str, of: str = "says") -> None:
    """Press Tab until what says this has the focus; all that was passed could be seen there."""
    for _ in range(MOST_STOPS):
        page.keyboard.press("Tab")
        here = page.evaluate(HERE)
        if here["kind"] == "body":
            continue
        assert here["ringed"], here
        assert here["inView"], here
        if re.fullmatch(wanted, here[of]):
            return
    raise AssertionError(f"no Tab leads to {wanted}")


def press(page: Page, wanted: str, of: str = "says") -> None:
    """Go there and press Enter, which leads to another page."""
    go_to(page, wanted, of)
    with page.expect_navigation():
        page.keyboard.press("Enter")


def get_in(page: Page, site: Site, name: str) -> None:
    page.goto(f"{site.address}/sign-in")
    go_to(page, "sign_in_name", "name")
    page.keyboard.type(name)
    go_to(page, "password", "name")
    page.keyboard.type(PASSWORD)
    with page.expect_navigation():
        page.keyboard.press("Enter")


def test_a_technician_takes_a_reading(site: Site, windows: Windows) -> None:
    place = opened(site)
    recorded(site, place, *BEFORE_POINTS)
    page = windows.open(width=820)
    get_in(page, site, "technician")
    press(page, re.escape(place.split("/drafts")[0]), "address")
    press(page, re.escape(place), "address")
    press(page, "Go on:.*")
    for axis, text in zip("xyz", ("146.894", "-467,34", "-805.615"), strict=True):
        go_to(page, f"readings.0.{axis}", "name")
        page.keyboard.type(text)
    go_to(page, "Save this point")
    page.keyboard.press("Enter")
    expect(page.locator("[data-big]")).to_contain_text("Taken")
    assert taken(site, place) == [("pivot", "left", None, 146.894)]


def test_an_inspector_signs(site: Site, windows: Windows) -> None:
    shop = Shop(lambda *_: None, site.database, people_of(site), {"now": NOW})  # type: ignore[arg-type]
    number = measured_job(shop, BOTH)
    page = windows.open()
    get_in(page, site, "inspector")
    press(page, f"/jobs/{number}(/sign-off)?", "address")
    if not page.url.endswith("/sign-off"):
        press(page, f"/jobs/{number}/sign-off", "address")
    go_to(page, "password", "name")
    page.keyboard.type(PASSWORD)
    go_to(page, "Sign and issue")
    page.keyboard.press("Enter")
    page.wait_for_url(f"{site.address}/certificates/*")
    expect(page.get_by_text("It is in force.")).to_be_visible()
