"""The floor in a browser: step by step to a finding, and nothing lost on a bad network."""

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import Site, Windows
from tests.browser.floor_steps import (
    BEFORE_POINTS,
    opened,
    recorded,
    step_of,
    take,
    taken,
)
from tests.browser.steps import enter, follow, follow_button

pytestmark = pytest.mark.browser

LEFT = ("146.894", "-467,34", "-805.615")
RIGHT = ("-57.057", "-873.753", "-603.431")

TOPS = """() => [...document.querySelectorAll(".trail.steps > *")].map((one) => {
  const text = document.createRange();
  text.selectNodeContents(one);
  return Math.round(text.getBoundingClientRect().top);
})"""
"""Where the words beside and behind the links stand: on one line with them."""


@pytest.fixture
def place(site: Site) -> str:
    """A measurement whose steps before the first point are done."""
    found = opened(site)
    recorded(site, found, *BEFORE_POINTS)
    return found


@pytest.mark.parametrize("javascript", [True, False], ids=["with_javascript", "without"])
def test_a_technician_goes_from_step_to_step_to_the_finding(
    site: Site, windows: Windows, javascript: bool
) -> None:
    place = opened(site)
    page = windows.open(javascript=javascript, width=820)
    enter(page, site, "technician", place)
    follow(page, page.get_by_role("link", name="Go on:").first)
    before_the_points(page)
    assert len(set(page.evaluate(TOPS))) == 1
    seen = []
    while (step := step_of(page)) != "":
        seen.append(step)
        take(page, step)
        assert len(seen) < 30
    assert seen[:2] == ["pivot.left", "pivot.right"]
    assert seen[-1] == "return.pivot.right"
    assert page.url.partition("?")[0] == site.address + place
    assert len(taken(site, place)) == 22
    page.get_by_role("button", name="Submit this measurement").click()
    page.wait_for_url("**/surveys/1")
    expect(page.locator("section.finding > .verdict")).to_have_text("outside the tolerances")


def before_the_points(page: Page) -> None:
    """What is done before anything is measured; the visual check was done earlier."""
    follow_button(page, "Done")
    expect(page.get_by_role("heading", level=1)).to_have_text("Play taken out")
    follow_button(page, "Done")
    page.get_by_label("What it stands on, and what is mounted").fill("engine in, wheels out")
    page.get_by_label("Which of the instrument's axes points up").select_option("z")
    follow_button(page, "Save")
    page.get_by_label("Temperature of the part, °C").fill("21,5")
    follow_button(page, "Save")
    expect(page.get_by_role("heading", level=1)).to_have_text("Targets on the steering")
    follow_button(page, "Save")
    expect(page.get_by_role("heading", level=1)).to_have_text("Pivot axis, left end")
