"""Every kind of page against axe, in light and dark, on phone and desk; targets of 48 px."""

import json

import pytest
from playwright.sync_api import Page

from app.services import drafts
from app.services.permissions import Actor
from tests.browser.conftest import Site, Windows
from tests.browser.steps import sign_in, violations
from tests.databases import NOW
from tests.web.shop import Shop, actors_of, measured_job, new_job

pytestmark = pytest.mark.browser

FLOOR = (
    "measure", "visual-check", "correction", "reference", "instrument", "drafts/1",
    "drafts/1/points", "drafts/1/plan", "drafts/1/steps/cautions", "drafts/1/steps/mounting",
    "drafts/1/steps/rig", "drafts/1/steps/pivot.right", "drafts/1/steps/station.left",
)  # fmt: skip
SMALLEST_TARGET_PX = 48
"""On the floor: a gloved thumb. Links in running text are left out, as WCAG 2.5.8 does."""


@pytest.fixture
def numbers(site: Site) -> tuple[str, str]:
    """A measured job, and one that was just checked in and has a measurement in progress."""
    people: dict[str, Actor] = actors_of(site.database)
    shop = Shop(lambda *_: None, site.database, people, {"now": NOW})  # type: ignore[arg-type]
    measured = measured_job(shop, ("before-head-bent.json", "after-corrected.json"))
    other = {"make": "Aurelia", "model": "Brisk", "frame_number": "ZZZTEST00A2000018"}
    fresh = new_job(shop, customer={"name": "Bo Invented"}, machine=other)
    point = {"feature": "pivot", "label": "left", "x": 1.0, "y": 2.0, "z": 3.0, "u": 0.1}
    with site.database.write() as session:
        draft = drafts.open_draft(session, people["technician"], fresh, "before", NOW)
        drafts.add_points(session, people["technician"], fresh, draft.id, [point], NOW)
    return measured, fresh


def pages_of(measured: str, fresh: str) -> list[str]:
    """One of each kind."""
    return [
        "/",
        "/check-in",
        f"/jobs/{measured}",
        f"/jobs/{measured}/surveys/1",
        f"/jobs/{measured}/before-and-after",
        f"/jobs/{measured}/sign-off",
        f"/jobs/{measured}/links",
        *(f"/jobs/{fresh}/{name}" for name in ("order", "notes", "card")),
        *(f"/jobs/{fresh}/{name}" for name in FLOOR),
        "/references",
        "/references/1",
        "/references/new",
        "/instruments",
        "/instruments/1",
        "/instruments/new",
        "/people",
        "/shop",
        "/certificates",
        "/verify",
        "/password",
        "/no-such-page",
    ]


def sideways(page: Page) -> int:
    """By how much the page is wider than the window."""
    width: int = page.evaluate(
        "document.documentElement.scrollWidth - document.documentElement.clientWidth"
    )
    return width


@pytest.mark.parametrize(
    ("dark", "width"), [(False, 1280), (True, 320)], ids=["light_desk", "dark_phone"]
)
def test_no_page_keeps_anybody_out(
    site: Site, windows: Windows, numbers: tuple[str, str], dark: bool, width: int
) -> None:
    page = windows.open(dark=dark, width=width)
    sign_in(page, site.address, "owner")
    found = {}
    for path in pages_of(*numbers):
        answer = page.goto(site.address + path)
        assert answer is not None
        assert answer.status == (404 if path == "/no-such-page" else 200), path
        if bad := violations(page):
            found[path] = bad
        assert sideways(page) <= 0, path
    assert not found, json.dumps(found, indent=1)


def test_no_page_scrolls_sideways_on_a_tablet(
    site: Site, windows: Windows, numbers: tuple[str, str]
) -> None:
    page = windows.open(width=820)
    sign_in(page, site.address, "owner")
    wider = {}
    for path in pages_of(*numbers):
        page.goto(site.address + path)
        for width in (768, 820):
            page.set_viewport_size({"width": width, "height": 900})
            if (excess := sideways(page)) > 0:
                wider[path, width] = excess
    assert wider == {}


def test_a_refused_form_leads_to_its_mistakes(site: Site, windows: Windows) -> None:
    page = windows.open()
    sign_in(page, site.address, "desk")
    page.goto(f"{site.address}/check-in")
    page.get_by_role("button", name="Check in").click()
    assert page.title().startswith("Error:")
    assert page.evaluate("document.activeElement.id") == "summary"
    assert violations(page) == []
    page.locator("#summary a").first.click()
    target = page.url.partition("#")[2]
    assert page.evaluate("document.activeElement.id") == target


def test_on_the_floor_every_target_takes_a_gloved_thumb(
    site: Site, windows: Windows, numbers: tuple[str, str]
) -> None:
    page = windows.open(width=820)
    sign_in(page, site.address, "technician")
    small = {}
    for name in FLOOR:
        page.goto(f"{site.address}/jobs/{numbers[1]}/{name}")
        small[name] = page.evaluate(SMALL_TARGETS, SMALLEST_TARGET_PX)
    assert small == {name: [] for name in FLOOR}


SMALL_TARGETS = """
(smallest) => [...document.querySelectorAll("main button, main input, main select, main textarea")]
  .filter((element) => element.type !== "hidden")
  .map((element) => [element, element.closest("label") || element])
  .filter(([, target]) => target.getBoundingClientRect().height < smallest)
  .filter(([, target]) => target.getBoundingClientRect().height > 0)
  .map(([element, target]) => [element.name, target.getBoundingClientRect().height])
"""
