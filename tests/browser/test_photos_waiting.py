"""Photos on a bad network: they survive a reload and a closed tab, and the page tells of them."""

from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from app.services import jobs, visual_checks
from app.services.permissions import Actor
from tests.browser.conftest import Site, Windows
from tests.browser.floor_steps import sent
from tests.browser.steps import begin_session, enter, sign_out, wait_until
from tests.browser.test_photos import files, kept, number, people
from tests.databases import NOW

__all__ = ["files", "number", "people"]

pytestmark = pytest.mark.browser

PHOTOS_WAITING = """async () => {
  const opening = indexedDB.open("jigbook");
  const base = await new Promise((done) => (opening.onsuccess = () => done(opening.result)));
  const asked = base.transaction("photos").objectStore("photos").getAll();
  const found = await new Promise((done) => (asked.onsuccess = () => done(asked.result)));
  base.close();
  return found.map((photo) => photo.size);
}"""


def offered(page: Page, site: Site, number: str, files: list[Path]) -> None:
    """Choose the files on the job's page of photos and press the button."""
    page.goto(f"{site.address}/jobs/{number}/photos")
    chosen(page, files)


def chosen(page: Page, files: list[Path]) -> None:
    page.get_by_label("Take a photo, or choose files").set_input_files(files)
    page.get_by_label("What it shows").select_option("zone.tank")
    page.get_by_label("Caption").fill("dent")
    page.get_by_role("button", name="Add to the job").click()


def taken_offline(page: Page, site: Site, number: str, files: list[Path]) -> None:
    """Photos that wait in the browser, because the network went before they were sent."""
    page.goto(f"{site.address}/jobs/{number}/photos")
    page.context.set_offline(True)
    chosen(page, files)
    strip = page.locator("[data-strip]")
    expect(strip).to_contain_text(f"Entries kept in this browser: {len(files)}")
    expect(strip).to_contain_text("Waiting for the network")


def test_photos_survive_a_closed_tab_and_are_sent_from_any_page(
    site: Site, windows: Windows, people: dict[str, Actor], number: str, files: list[Path]
) -> None:
    page = windows.open()
    begin_session(page, site, "technician", site.on_the_network)
    page.goto(f"{site.on_the_network}/jobs/{number}/photos")
    assert not page.evaluate("isSecureContext"), "as on the shop's own network"
    page.context.set_offline(True)
    chosen(page, files[:2])
    expect(page.locator("[data-strip]")).to_contain_text("Entries kept in this browser: 2")
    expect(page.locator("[data-strip]")).to_contain_text("left.jpg")
    sizes = sorted(file.stat().st_size for file in files[:2])
    assert sorted(page.evaluate(PHOTOS_WAITING)) == sizes
    other = page.context.new_page()
    page.close(run_before_unload=False)
    assert kept(site, people, number) == ()
    other.context.set_offline(False)
    other.goto(f"{site.on_the_network}/")
    sent(other)
    found = kept(site, people, number)
    assert [(one.about, one.caption) for one in found] == [("zone.tank", "dent")] * 2
    assert [(one.width, one.height) for one in found] == [(900, 600), (400, 600)]
    wait_until(other, f"(async () => !(await ({PHOTOS_WAITING})()).length)()")
    windows.complaints.clear()


def test_every_page_says_what_waits(
    site: Site, windows: Windows, people: dict[str, Actor], number: str, files: list[Path]
) -> None:
    page = windows.open()
    begin_session(page, site, "technician")
    page.route(
        "**/photos", lambda route: route.abort() if route.request.post_data else route.continue_()
    )
    offered(page, site, number, files[:1])
    expect(page.locator("[data-strip]")).to_contain_text("Waiting for the network")
    page.goto(site.address)
    expect(page.locator("[data-strip]")).to_contain_text("Entries kept in this browser: 1")
    page.unroute("**/photos")
    sent(page)
    expect(page.locator("[data-strip]")).to_be_hidden()
    assert len(kept(site, people, number)) == 1
    windows.complaints.clear()


def test_photos_wait_for_the_person_who_took_them(
    site: Site, windows: Windows, people: dict[str, Actor], number: str, files: list[Path]
) -> None:
    page = windows.open()
    begin_session(page, site, "technician")
    page.route(
        "**/photos", lambda route: route.abort() if route.request.post_data else route.continue_()
    )
    offered(page, site, number, files[:1])
    expect(page.locator("[data-strip]")).to_contain_text("Waiting for the network")
    sign_out(page, site.address)
    page.unroute("**/photos")
    enter(page, site, "desk")
    expect(page.locator("[data-strip]")).to_contain_text("Entries of somebody else wait")
    page.goto(f"{site.address}/jobs/{number}/photos")
    expect(page.locator("[data-strip]")).to_contain_text("Entries of somebody else wait")
    assert kept(site, people, number) == ()
    assert len(page.evaluate(PHOTOS_WAITING)) == 1
    sign_out(page, site.address)
    enter(page, site, "technician")
    sent(page)
    (found,) = kept(site, people, number)
    assert found.added_by == people["technician"].name
    windows.complaints.clear()


def test_a_browser_without_room_says_so_and_keeps_the_form_as_it_is(
    site: Site, windows: Windows, people: dict[str, Actor], number: str, files: list[Path]
) -> None:
    page = windows.open()
    enter(page, site, "technician", f"/jobs/{number}/photos")
    room = {"origin": site.address, "quotaSize": 100}
    page.context.new_cdp_session(page).send("Storage.overrideQuotaForOrigin", room)
    page.context.set_offline(True)
    chosen(page, files[:2])
    strip = page.locator("[data-strip]")
    expect(strip).to_contain_text("Not saved")
    expect(strip).to_contain_text("This browser has no room left")
    assert page.get_by_label("Caption").input_value() == "dent"
    page.context.set_offline(False)
    page.get_by_role("button", name="Add to the job").click()
    expect(page.locator(".gallery img")).to_have_count(2)
    assert len(kept(site, people, number)) == 2
    windows.complaints.clear()


def test_a_photo_that_is_refused_later_says_why_and_can_be_sent_again_or_dropped(
    site: Site, windows: Windows, people: dict[str, Actor], number: str, files: list[Path]
) -> None:
    page = windows.open()
    begin_session(page, site, "desk")
    taken_offline(page, site, number, files[:1])
    with site.database.write() as session:
        jobs.cancel(session, people["desk"], number, "came by mistake", NOW)
    page.context.set_offline(False)
    strip = page.locator("[data-strip]")
    expect(strip).to_contain_text("Not saved")
    expect(strip).to_contain_text("left.jpg: ")
    assert kept(site, people, number) == ()
    with site.database.write() as session:
        jobs.reopen(session, people["desk"], number, "did not", NOW)
    page.reload()
    page.get_by_role("button", name="Try again").click()
    expect(page.locator(".gallery img")).to_have_count(1)
    taken_offline(page, site, number, files[2:])
    page.context.set_offline(False)
    expect(strip).to_contain_text("words.jpg: The file cannot be read as a photo")
    page.get_by_role("button", name="Drop it").click()
    sent(page)
    expect(strip).to_contain_text("1 photo")
    assert len(kept(site, people, number)) == 1
    windows.complaints.clear()


def test_the_latest_answer_to_an_item_stands_though_the_photo_of_the_first_had_to_wait(
    site: Site, windows: Windows, people: dict[str, Actor], number: str, files: list[Path]
) -> None:
    page = windows.open(width=820)
    begin_session(page, site, "technician")
    place = f"{site.address}/jobs/{number}/visual-check/frame_wrinkles"
    page.route(place, lambda route: route.abort() if route.request.post_data else route.continue_())
    page.goto(place)
    page.get_by_label("Photo of it").set_input_files(files[0])
    page.get_by_label("What", exact=True).fill("under the tank")
    page.get_by_role("button", name="Not looked at, with this note").click()
    expect(page.locator("[data-strip]")).to_contain_text("Waiting for the network")
    page.goto(place)
    page.get_by_role("button", name="Looked, nothing seen", exact=True).click()
    wait_until(page, "Object.keys(localStorage).length === 2")
    page.unroute(place)
    page.evaluate("window.dispatchEvent(new Event('online'))")
    sent(page)
    with site.database.read() as session:
        found = visual_checks.listing(session, people["technician"], number)
    assert [(one.item, one.answer) for one in found if one.checked_at] == [
        ("frame_wrinkles", "not_seen")
    ]
    assert [one.about for one in kept(site, people, number)] == ["item.frame_wrinkles"]
    windows.complaints.clear()
