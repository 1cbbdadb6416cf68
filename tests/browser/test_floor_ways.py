"""The ways a reading comes: keypad, rows, a file, an instrument; and what the page says of it."""

import json
import urllib.request

import pytest
from playwright.sync_api import Page, expect

from app.services.permissions import Role
from app.services.tokens import create_token
from tests.browser.conftest import PATIENCE_MS, Site, Windows
from tests.browser.floor_steps import (
    BEFORE_POINTS,
    fill,
    opened,
    people_of,
    readings,
    recorded,
    save,
    taken,
)
from tests.browser.steps import begin_session, enter, follow, follow_button, violations
from tests.databases import NOW

pytestmark = pytest.mark.browser

LEFT = ("146.894", "-467,34", "-805.615")
ROWS = "146,894;-467,34;-805,615"
STORED = ("pivot", "left", None, 146.894)


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
    enter(opened_page, site, "technician", f"{place}/steps/pivot.left")
    return opened_page


def press(page: Page, keys: str) -> None:
    """Touch keys of the keypad."""
    for key in keys:
        page.locator(f"[data-key='{key}']").click()


def test_the_keypad_writes_a_whole_reading(page: Page, site: Site, place: str) -> None:
    press(page, "146.89")
    press(page, "1")
    page.locator("[data-key=erase]").click()
    press(page, "4")
    page.locator("[data-key=next]").click()
    page.locator("[data-key=sign]").click()
    press(page, "467,3,4")
    page.locator("[data-key=next]").click()
    press(page, "805.615")
    page.locator("[data-key=sign]").click()
    expect(page.get_by_label("X, mm", exact=True)).to_have_value("146.894")
    expect(page.get_by_label("Y, mm", exact=True)).to_have_value("-467,34")
    expect(page.get_by_label("Z, mm", exact=True)).to_have_value("-805.615")
    page.locator("[data-key=next]").click()
    assert page.evaluate("document.activeElement.textContent") == "Save this point"
    page.keyboard.press("Enter")
    expect(page.locator("[data-big]")).to_contain_text("Taken")
    assert taken(site, place) == [STORED]


def test_the_keyboard_alone_takes_a_reading(page: Page, site: Site, place: str) -> None:
    page.get_by_label("X, mm", exact=True).focus()
    for text in LEFT:
        page.keyboard.type(text)
        page.keyboard.press("Tab")
    page.get_by_label("Z, mm", exact=True).focus()
    page.keyboard.press("Enter")
    expect(page.locator("[data-big]")).to_contain_text("Taken")
    assert taken(site, place) == [STORED]


def test_rows_are_pasted(page: Page, site: Site, place: str) -> None:
    page.get_by_text("Paste rows, or take a file").click()
    page.get_by_label("Rows: X Y Z").fill(ROWS)
    page.get_by_role("button", name="Add these points").click()
    expect(page.locator("[data-big]")).to_contain_text("Taken")
    assert taken(site, place) == [STORED]


def test_a_file_of_the_instrument_is_taken(page: Page, site: Site, place: str) -> None:
    page.get_by_text("Paste rows, or take a file").click()
    file = {"name": "points.csv", "mimeType": "text/csv", "buffer": f"x;y;z\n{ROWS}".encode()}
    page.get_by_label("Or a CSV file of the instrument").set_input_files(files=file)  # type: ignore[arg-type]
    page.get_by_role("button", name="Add these points").click()
    expect(page.locator("[data-big]")).to_contain_text("Taken")
    assert taken(site, place) == [STORED]


def test_points_of_an_instrument_appear_by_themselves(page: Page, site: Site, place: str) -> None:
    page.get_by_text("Points straight from the instrument").click()
    follow_button(page, "Take its points here")
    expect(page.get_by_text("Points that the instrument sends go to this step")).to_be_visible()
    with site.database.write() as session:
        token = create_token(session, people_of(site)["owner"], "arm", Role.TECHNICIAN, NOW).token
    send(site, place, token, 146.894, -467.34, -805.615)
    expect(page.locator("[data-big]")).to_contain_text("Taken")
    expect(page.locator("[data-big]")).to_contain_text("X 146.894")
    expect(page.get_by_role("heading", level=1)).to_have_text("Pivot axis, right end")
    send(site, place, token, -57.057, -873.753, -603.431)
    expect(page.get_by_role("heading", level=1)).to_have_text("Frame face beside the pivot, left")
    assert taken(site, place) == [STORED, ("pivot", "right", None, -57.057)]


def send(site: Site, place: str, token: str, x: float, y: float, z: float) -> None:
    """One point, as an instrument's program sends it."""
    body = json.dumps({"readings": [{"x": x, "y": y, "z": z}]}).encode()
    headers = {"Authorization": f"Bearer {token}", "Content-Type": "application/json"}
    asked = urllib.request.Request(
        f"{site.address}/api/v1{place}/readings", body, headers, method="POST"
    )
    with urllib.request.urlopen(asked, timeout=PATIENCE_MS / 1000) as answer:
        assert answer.status == 201


def test_an_implausible_point_is_said_at_once_and_taken_back(
    page: Page, site: Site, place: str
) -> None:
    fill(page, LEFT)
    save(page)
    expect(page.get_by_role("heading", level=1)).to_have_text("Pivot axis, right end")
    fill(page, ("-57.057", "-873.753", "60343.1"))
    save(page)
    expect(page.locator("[data-big]")).to_contain_text("Implausible")
    expect(page.get_by_role("heading", level=1)).to_have_text("Pivot axis, right end")
    expect(page.locator(".notice.bad").first).to_be_visible()
    assert violations(page) == []
    follow(page, page.get_by_role("button", name="Take it back", exact=True))
    expect(page.locator(".notice.bad")).to_have_count(0)
    assert taken(site, place) == [STORED]


def test_a_reading_sounds_high_when_taken_and_low_when_implausible(page: Page) -> None:
    page.evaluate(
        """() => {
          window.tones = [];
          const made = AudioContext.prototype.createOscillator;
          AudioContext.prototype.createOscillator = function () {
            const one = made.call(this);
            window.tones.push(one.frequency);
            return one;
          };
        }"""
    )
    fill(page, LEFT)
    save(page)
    expect(page.locator("[data-big]")).to_contain_text("Taken")
    assert page.evaluate("window.tones.map((one) => one.value)") == [1320]
    fill(page, ("-57.057", "-873.753", "60343.1"))
    save(page)
    expect(page.locator("[data-big]")).to_contain_text("Implausible")
    assert page.evaluate("window.tones.slice(1).map((one) => one.value)") == [220, 220, 220]


def test_a_pause_says_what_repeats_and_taking_it_up_begins_there(
    page: Page, site: Site, place: str
) -> None:
    fill(page, LEFT)
    save(page)
    expect(page.get_by_role("heading", level=1)).to_have_text("Pivot axis, right end")
    page.locator("summary", has_text="Pause").click()
    page.get_by_label("Yes, ").check()
    follow_button(page, "Pause this measurement")
    paused = page.locator(".paused")
    expect(paused).to_contain_text("Paused since")
    expect(paused.locator("li")).to_contain_text(["Temperature", "Pivot axis, left end"])
    expect(page.get_by_role("button", name="Save this point")).to_have_count(0)
    assert violations(page) == []
    follow_button(page, "Take it up again")
    expect(page.get_by_role("heading", level=1)).to_contain_text("emperature")


def test_on_plain_http_the_tablet_works_like_anywhere(
    site: Site, windows: Windows, place: str
) -> None:
    page = windows.open(width=820)
    begin_session(page, site, "technician", site.on_the_network)
    page.goto(f"{site.on_the_network}{place}/steps/pivot.left")
    assert page.evaluate("window.isSecureContext") is False
    press(page, "146.894")
    page.get_by_label("Y, mm", exact=True).fill(LEFT[1])
    page.get_by_label("Z, mm", exact=True).fill(LEFT[2])
    save(page)
    expect(page.locator("[data-big]")).to_contain_text("Taken")
    assert taken(site, place) == [STORED]
    over_tls_only = "The Cross-Origin-Opener-Policy header"
    assert all(text.startswith(over_tls_only) for text in windows.complaints)
    windows.complaints.clear()


LARGEST = """
() => {
  const area = (one) => one.getBoundingClientRect().width * one.getBoundingClientRect().height;
  const all = [...document.querySelectorAll("main button, main a.go, main a.also")];
  const shown = all.filter((one) => one.offsetParent && !one.matches("[data-key]"));
  const [first, second] = shown.sort((a, b) => area(b) - area(a));
  return [first.matches(".go"), first.getBoundingClientRect().height,
          document.querySelectorAll("main .go").length, !second || area(first) > area(second)];
}
"""


def test_each_step_has_one_main_action_and_it_is_the_largest(
    site: Site, windows: Windows, place: str
) -> None:
    page = windows.open()
    begin_session(page, site, "technician")
    steps = ("cautions", "mounting", "temperature", "rig", "pivot.left", "station.left")
    for path in (place, *(f"{place}/steps/{step}" for step in steps)):
        page.goto(site.address + path)
        for width in (320, 820, 1280):
            page.set_viewport_size({"width": width, "height": 900})
            page.emulate_media(color_scheme="dark" if width == 320 else "light")
            is_go, height, count, alone = page.evaluate(LARGEST)
            assert (is_go, count, alone) == (True, 1, True), (path, width)
            assert height >= 64, (path, width)
            wider = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
            assert page.evaluate(wider) <= 0, (path, width)


def test_a_point_after_a_saved_one_needs_no_scrolling(
    site: Site, windows: Windows, place: str
) -> None:
    page = windows.open()
    enter(page, site, "technician", f"{place}/steps/station.left")
    first, second = readings("station.left")
    for reading, width, height in ((first, 360, 740), (second, 820, 1180)):
        page.set_viewport_size({"width": width, "height": height})
        fill(page, reading)
        save(page)
        expect(page.locator("[data-big]")).to_contain_text(f"X {reading[0]}")
        expect(page.get_by_label("X, mm", exact=True)).to_have_value("")
        nothing_is_out_of_sight(page, width, height)


def nothing_is_out_of_sight(page: Page, width: int, height: int) -> None:
    """What a technician needs for the next point; on a telephone all but the drawing."""
    wanted = ["h1", "[data-big]", ".xyz", ".keypad", ".work form .actions button"]
    wanted += [".where"] if width > 400 else []
    for part in wanted:
        box = page.locator(part).first.bounding_box()
        assert box is not None
        assert box["y"] >= 0, part
        assert box["y"] + box["height"] <= height, part


def test_the_direction_that_is_up_is_asked_for_as_soon_as_tilted_is_chosen(
    page: Page, site: Site, place: str
) -> None:
    page.goto(f"{site.address}{place}/steps/mounting")
    fields = page.get_by_role("group", name="The instrument stands tilted")
    expect(fields).to_be_hidden()
    page.get_by_label("Which of the instrument's axes points up").select_option("own")
    expect(fields).to_be_visible()
    assert [one.inner_text() for one in fields.locator("label").all()] == ["X", "Y", "Z"]
    page.get_by_label("Which of the instrument's axes points up").select_option("z")
    expect(fields).to_be_hidden()


def test_a_refused_number_keeps_its_room_and_the_keys_write_there(page: Page) -> None:
    fill(page, ("146.894", "-467,34", "-80-5"))
    whole = page.get_by_label("Z, mm", exact=True).evaluate("one => one.offsetWidth")
    page.get_by_role("button", name="Save this point").click()
    refused = page.locator("input[aria-invalid=true]")
    expect(refused).to_have_count(1)
    expect(refused).to_have_attribute("name", "readings.0.z")
    expect(refused).to_have_attribute("data-now", "")
    # The bar that marks it takes a little.
    assert refused.evaluate("one => one.offsetWidth") > 0.9 * whole
