"""Photos and the visual check in the browser: with script, without, offline, and for everybody."""

import re
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from app.services import photos, visual_checks
from app.services.permissions import Actor
from app.services.photos import PhotoView
from tests.browser.conftest import Site, Windows
from tests.browser.steps import begin_session, enter, follow, follow_button, violations
from tests.databases import NOW
from tests.services.pictures import plain
from tests.web.shop import Shop, actors_of, new_job

pytestmark = pytest.mark.browser


@pytest.fixture
def people(site: Site) -> dict[str, Actor]:
    return actors_of(site.database)


@pytest.fixture
def number(site: Site, people: dict[str, Actor]) -> str:
    shop = Shop(lambda *_: None, site.database, people, {"now": NOW})  # type: ignore[arg-type]
    return new_job(shop)


@pytest.fixture
def files(tmp_path: Path) -> list[Path]:
    """Two photos and a file that is none."""
    made = [tmp_path / name for name in ("left.jpg", "right.png", "words.jpg")]
    made[0].write_bytes(plain(900, 600, form="JPEG"))
    made[1].write_bytes(plain(400, 600))
    made[2].write_bytes(b"no photo at all")
    return made


def kept(site: Site, people: dict[str, Actor], number: str) -> tuple[PhotoView, ...]:
    with site.database.read() as session:
        return photos.listing(session, people["desk"], number)


def choose(page: Page, site: Site, number: str, files: list[Path]) -> None:
    page.goto(f"{site.address}/jobs/{number}/photos")
    page.get_by_label("Take a photo, or choose files").set_input_files(files)
    page.get_by_label("What it shows").select_option("zone.tank")
    page.get_by_label("Caption").fill("dent")


@pytest.mark.parametrize("javascript", [True, False], ids=["script", "plain"])
def test_several_photos_arrive_and_are_seen(
    site: Site,
    windows: Windows,
    people: dict[str, Actor],
    number: str,
    files: list[Path],
    javascript: bool,
) -> None:
    page = windows.open(javascript=javascript)
    begin_session(page, site, "desk")
    choose(page, site, number, files[:2])
    page.get_by_role("button", name="Add to the job").click()
    page.locator(".gallery img").nth(1).wait_for()
    assert [(one.about, one.caption) for one in kept(site, people, number)] == [
        ("zone.tank", "dent")
    ] * 2
    for image in page.locator(".gallery img").all():
        image.scroll_into_view_if_needed()
        assert image.evaluate("async i => { await i.decode(); return i.naturalWidth; }") > 0
    follow(page, page.locator(".gallery a").first)
    page.get_by_label("Caption").fill("dent, left side")
    follow_button(page, "Save what it shows")
    expect(page.get_by_text("dent, left side")).to_be_visible()


LOSES_THE_FIRST_ANSWER = """
const real = window.fetch;
window.lost = [];
window.again = new Promise((goOn) => (window.goOn = goOn));
window.fetch = async (...asked) => {
  if (window.lost.length) await window.again;
  const answer = await real(...asked);
  if (window.lost.length) return answer;
  window.lost.push(answer.status);
  throw new TypeError("the answer was lost");
};
"""


def test_a_photo_whose_answer_was_lost_is_kept_once(
    site: Site, windows: Windows, people: dict[str, Actor], number: str, files: list[Path]
) -> None:
    page = windows.open()
    begin_session(page, site, "technician")
    page.add_init_script(LOSES_THE_FIRST_ANSWER)
    choose(page, site, number, files[:2])
    page.get_by_role("button", name="Add to the job").click()
    page.get_by_text("Waiting for the network").wait_for()
    assert page.evaluate("window.lost") == [200], "the first one was taken"
    page.evaluate("window.goOn()")
    page.locator(".gallery img").nth(1).wait_for()
    assert len(kept(site, people, number)) == 2


def test_photos_wait_for_the_network(
    site: Site, windows: Windows, people: dict[str, Actor], number: str, files: list[Path]
) -> None:
    page = windows.open()
    begin_session(page, site, "technician")
    choose(page, site, number, files[:2])
    page.context.set_offline(True)
    page.get_by_role("button", name="Add to the job").click()
    page.get_by_text("Waiting for the network").wait_for()
    assert kept(site, people, number) == ()
    page.context.set_offline(False)
    page.locator(".gallery img").nth(1).wait_for()
    assert len(kept(site, people, number)) == 2
    assert all("ERR_INTERNET_DISCONNECTED" in one for one in windows.complaints)
    windows.complaints.clear()


def test_a_file_that_is_no_photo_is_told_by_name_and_the_form_can_be_sent_again(
    site: Site, windows: Windows, people: dict[str, Actor], number: str, files: list[Path]
) -> None:
    page = windows.open()
    begin_session(page, site, "desk")
    choose(page, site, number, [files[0], files[2]])
    page.get_by_role("button", name="Add to the job").click()
    page.get_by_text("words.jpg: The file cannot be read as a photo").wait_for()
    # The strip tells it first; then the page is shown anew, with what was stored.
    page.locator(".gallery img").first.wait_for()
    assert len(kept(site, people, number)) == 1
    page.get_by_label("Take a photo, or choose files").set_input_files(files[1])
    page.get_by_role("button", name="Add to the job").click()
    page.locator(".gallery img").nth(1).wait_for()


@pytest.mark.parametrize("javascript", [True, False], ids=["script", "plain"])
def test_what_was_seen_is_kept_with_its_photo_and_the_next_item_comes(
    site: Site,
    windows: Windows,
    people: dict[str, Actor],
    number: str,
    files: list[Path],
    javascript: bool,
) -> None:
    page = windows.open(javascript=javascript, width=820)
    enter(page, site, "technician", f"/jobs/{number}/visual-check")
    follow(page, page.get_by_role("link", name="Look for cracks in the frame"))
    seen = page.get_by_role("link", name="Seen", exact=True)
    save_as_seen = page.get_by_role("button", name="Save as seen")
    expect(seen).to_have_css("font-weight", "400")
    quiet = save_as_seen.bounding_box()
    seen.click()
    expect(page.get_by_text("Seen: tick where, or write what")).to_be_visible()
    expect(seen).to_have_css("font-weight", "600")
    pressing = save_as_seen.bounding_box()
    assert quiet is not None
    assert pressing is not None
    assert pressing["width"] > 2 * quiet["width"]
    page.get_by_label("left spar").check()
    page.get_by_label("Photo of it").set_input_files(files[0])
    page.get_by_role("button", name="Save as seen").click()
    page.get_by_role("heading", name="Wrinkled or stretched metal in the frame").wait_for()
    page.get_by_role("button", name="Looked, nothing seen", exact=True).click()
    page.get_by_role("heading", name="Paint flaked off at welds of the frame").wait_for()
    with site.database.read() as session:
        (hold,) = visual_checks.holds(session, people["technician"], number)
    assert (hold.item, hold.note) == ("frame_cracks", "left spar")
    assert [one.about for one in kept(site, people, number)] == ["item.frame_cracks"]


def test_answers_wait_for_the_network_and_the_next_item_comes_all_the_same(
    site: Site, windows: Windows, people: dict[str, Actor], number: str
) -> None:
    page = windows.open(width=820)
    begin_session(page, site, "technician")
    with page.expect_response("**/visual-check/frame_heat_marks"):
        page.goto(f"{site.address}/jobs/{number}/visual-check/frame_wrinkles")
    page.context.set_offline(True)
    page.get_by_role("button", name="Looked, nothing seen", exact=True).click()
    page.get_by_role("heading", name="Paint flaked off at welds of the frame").wait_for()
    assert "Waiting for the network" in page.locator("[data-strip]").inner_text()
    page.get_by_role("button", name="Not looked at", exact=True).click()
    page.get_by_role("heading", name="Damaged welds of the frame").wait_for()
    assert answers(site, people, number) == {}
    page.context.set_offline(False)
    page.evaluate("window.dispatchEvent(new Event('online'))")
    page.locator("[data-strip].saved").wait_for()
    assert answers(site, people, number) == {
        "frame_wrinkles": "not_seen",
        "frame_paint": "not_checked",
    }
    windows.complaints.clear()


def answers(site: Site, people: dict[str, Actor], number: str) -> dict[str, str]:
    """What is on record of each item that was answered."""
    with site.database.read() as session:
        found = visual_checks.listing(session, people["technician"], number)
    return {one.item: one.answer for one in found if one.checked_at}


def test_the_keyboard_alone_answers_an_item(
    site: Site, windows: Windows, people: dict[str, Actor], number: str
) -> None:
    page = windows.open()
    enter(page, site, "technician", f"/jobs/{number}/visual-check/frame_cracks")
    page.get_by_label("What", exact=True).focus()
    page.keyboard.type("hairline")
    page.keyboard.press("Enter")
    page.get_by_role("heading", name="Wrinkled or stretched metal in the frame").wait_for()
    with site.database.read() as session:
        found = visual_checks.listing(session, people["technician"], number)[0]
    assert (found.answer, found.note) == ("seen", "hairline"), "Enter never hides damage"


def test_the_refused_item_leads_to_its_mistake(site: Site, windows: Windows, number: str) -> None:
    page = windows.open(width=820)
    enter(page, site, "technician", f"/jobs/{number}/visual-check/frame_cracks")
    page.get_by_role("button", name="Save as seen").click()
    page.locator("#summary").wait_for()
    expect(page).to_have_title(re.compile("^Error:"))
    assert violations(page) == []
    page.locator("#summary a").click()
    expect(page.locator("#place")).to_be_focused()


def test_every_answer_of_the_check_takes_a_gloved_thumb(
    site: Site, windows: Windows, number: str
) -> None:
    page = windows.open(width=820)
    begin_session(page, site, "technician")
    for path, least in (("visual-check", 48), ("visual-check/frame_cracks", 64)):
        page.goto(f"{site.address}/jobs/{number}/{path}")
        boxes = [one.bounding_box() for one in page.locator(".tap").all()]
        assert len(boxes) >= 3
        assert all(box and box["height"] >= least and box["width"] >= least for box in boxes)
