"""Tablets in the browser: enrolled, changed over by PIN, two of them on one job."""

import pytest
from playwright.sync_api import Page, expect

from app.services import pins
from tests.browser.conftest import Site, Windows
from tests.browser.floor_steps import (
    BEFORE_POINTS,
    fill,
    on_record,
    opened,
    people_of,
    recorded,
    save,
    sent,
    taken,
)
from tests.browser.steps import begin_session, enter, follow, follow_button, violations
from tests.databases import CHEAP, NOW
from tests.services.staff import PASSWORD

pytestmark = pytest.mark.browser

PINS = {"Technician": "4817", "Inspector": "7193"}
LEFT, RIGHT = ("146.894", "-467.34", "-805.615"), ("-57.057", "-873.753", "-603.431")


@pytest.fixture
def place(site: Site) -> str:
    """A measurement whose steps before the first point are done; two people have a PIN."""
    found = opened(site)
    recorded(site, found, *BEFORE_POINTS)
    for name, pin in PINS.items():
        person = people_of(site)[name.lower()]
        pins.set_pin(site.database, person, PASSWORD, pin, NOW, CHEAP)
    return found


def code_for(site: Site, windows: Windows, name: str = "Lift 2") -> str:
    """The owner makes a code for a tablet."""
    page = windows.open()
    enter(page, site, "boss", "/people")
    follow(page, page.get_by_role("link", name="Tablets on the floor"))
    page.get_by_label("What it is called").fill(name)
    follow_button(page, "Make a code for it")
    return page.locator(".once").inner_text()


def enrolled(site: Site, windows: Windows, *, javascript: bool = True) -> Page:
    """A tablet on the shop's network, plain http, that nobody is at work on."""
    code = code_for(site, windows)
    page = windows.open(javascript=javascript, width=820)
    page.goto(f"{site.on_the_network}/enrol?code={code}")
    follow_button(page, "Enrol this tablet")
    expect(page.get_by_role("heading", level=1)).to_have_text("Who is at work?")
    return page


def take_over(page: Page, name: str) -> None:
    """Two taps and the digits."""
    follow(page, page.get_by_role("link", name=name))
    for digit in PINS[name]:
        page.get_by_role("button", name=digit, exact=True).click()
    follow_button(page, "Go to work")


def without_network_remarks(windows: Windows) -> None:
    """Browsers say of one header that they heed it over TLS only; it is sent all the same."""
    windows.complaints[:] = [
        text
        for text in windows.complaints
        if not text.startswith("The Cross-Origin-Opener-Policy header")
    ]


def test_people_change_in_two_taps_where_the_tablet_was(
    site: Site, windows: Windows, place: str
) -> None:
    page = enrolled(site, windows)
    step = f"{site.on_the_network}{place}/steps/pivot.left"
    page.goto(step)
    take_over(page, "Technician")
    page.wait_for_url(step)
    assert page.evaluate("window.isSecureContext") is False
    fill(page, LEFT)
    follow(page, page.get_by_role("link", name="Change person"))
    assert violations(page) == []
    follow(page, page.get_by_role("link", name="Inspector"))
    assert violations(page) == []
    page.go_back()
    take_over(page, "Inspector")
    page.wait_for_url(step)
    expect(page.locator(".me")).to_contain_text("Inspector")
    expect(page.get_by_label("X, mm", exact=True)).to_have_value(LEFT[0])
    save(page)
    expect(page.locator("[data-big]")).to_contain_text(f"X {LEFT[0]}")
    (point,) = on_record(site, place).standing
    assert point.added_by == "Inspector"
    without_network_remarks(windows)


@pytest.mark.parametrize("key", ["click", "keyboard"])
def test_a_wrong_pin_is_told_and_the_right_one_goes_on(
    site: Site, windows: Windows, place: str, key: str
) -> None:
    page = enrolled(site, windows)
    follow(page, page.get_by_role("link", name="Technician"))
    page.get_by_label("PIN", exact=True).fill("9517")
    follow_button(page, "Go to work")
    expect(page.get_by_role("alert")).to_contain_text("The PIN is not right")
    assert violations(page) == []
    if key == "keyboard":
        page.get_by_label("PIN", exact=True).press_sequentially(PINS["Technician"])
        page.keyboard.press("Enter")
    else:
        for digit in PINS["Technician"]:
            page.get_by_role("button", name=digit, exact=True).click()
        page.get_by_role("button", name="Go to work").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Today")
    without_network_remarks(windows)


def test_without_a_script_a_pin_serves_too(site: Site, windows: Windows, place: str) -> None:
    page = enrolled(site, windows, javascript=False)
    page.goto(site.on_the_network + place)
    follow(page, page.get_by_role("link", name="Technician"))
    expect(page.locator(".keypad")).to_be_hidden()
    page.get_by_label("PIN", exact=True).fill(PINS["Technician"])
    page.get_by_role("button", name="Go to work").click()
    page.wait_for_url(site.on_the_network + place)
    without_network_remarks(windows)


def test_readings_that_wait_for_the_network_outlive_a_change_of_person(
    site: Site, windows: Windows, place: str
) -> None:
    """They wait for the one who took them, and are stored in that name."""
    page = enrolled(site, windows)
    step = f"{site.on_the_network}{place}/steps/pivot.left"
    page.goto(step)
    take_over(page, "Technician")
    page.wait_for_url(step)
    stored_nothing = "**/steps/pivot.left"
    page.route(stored_nothing, lambda r: r.abort() if r.request.method == "POST" else r.continue_())
    fill(page, LEFT)
    save(page)
    expect(page.locator("[data-strip]")).to_have_class("strip waiting")
    follow(page, page.get_by_role("link", name="Change person"))
    take_over(page, "Inspector")
    page.wait_for_url("**/steps/**")
    assert taken(site, place) == []
    page.unroute(stored_nothing)
    follow(page, page.get_by_role("link", name="Change person"))
    take_over(page, "Technician")
    page.wait_for_url("**/steps/**")
    sent(page)
    (point,) = on_record(site, place).standing
    assert (point.sent["x"], point.added_by) == (146.894, "Technician")
    windows.complaints.clear()


def test_two_tablets_on_one_job_overwrite_nothing(site: Site, windows: Windows, place: str) -> None:
    first, second = windows.open(width=820), windows.open(width=820)
    for page, name in ((first, "technician"), (second, "inspector")):
        enter(page, site, name, f"{place}/steps/pivot.{'left' if page is first else 'right'}")
        fill(page, LEFT if page is first else RIGHT)
    save(second)
    expect(second.locator("[data-big]")).to_contain_text(f"X {RIGHT[0]}")
    save(first)
    expect(first.locator("[data-big]")).to_contain_text(f"X {LEFT[0]}")
    assert sorted(taken(site, place), key=str) == [
        ("pivot", "left", None, 146.894), ("pivot", "right", None, -57.057)
    ]  # fmt: skip
    by = {point.sent["label"]: point.added_by for point in on_record(site, place).standing}
    assert by == {"left": "Technician", "right": "Inspector"}


def test_a_desks_screen_opens_the_job_on_a_tablet(site: Site, windows: Windows, place: str) -> None:
    """The address below the code is the one that the code holds."""
    desk = windows.open()
    begin_session(desk, site, "technician", site.on_the_network)
    desk.goto(site.on_the_network + place.partition("/drafts")[0])
    desk.get_by_text("Go on with a tablet").click()
    expect(desk.locator(".hand-off svg")).to_be_visible()
    address = desk.locator(".hand-off figcaption").inner_text()
    tablet = enrolled(site, windows)
    tablet.goto(address)
    take_over(tablet, "Technician")
    tablet.wait_for_url(site.on_the_network + place)
    without_network_remarks(windows)
