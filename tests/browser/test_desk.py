"""The desk in the browser: found while typing, ticked on a drawing, signed, printed on a sheet."""

import re
from pathlib import Path
from typing import Any

import pikepdf
import pytest
from playwright.sync_api import Page, expect

from app.schemas.damage import ZONES
from app.schemas.note import NoteIn
from app.services import jobs, notes
from tests.browser.conftest import Site, Windows
from tests.browser.steps import begin_session, enter, follow, follow_button, violations
from tests.databases import NOW
from tests.services.pictures import from_a_camera
from tests.web.shop import Shop, actors_of, new_job

pytestmark = pytest.mark.browser

LONG = "He slid on gravel, hit the kerb, and the machine turned over twice before it lay still. "


@pytest.fixture
def known(site: Site) -> str:
    """A machine that is in the shop, whose customer is to be called."""
    people = actors_of(site.database)
    shop = Shop(lambda *_: None, site.database, people, {"now": NOW})  # type: ignore[arg-type]
    number = new_job(shop, authorised_by="", privacy_notice_given="")
    with site.database.write() as session:
        note = NoteIn(words="May the bar be replaced?", call="customer")
        notes.add(session, people["technician"], number, note, NOW)
    return number


def fill_new(page: Page) -> None:
    """A new customer with a new machine, and what happened."""
    for label, value in (
        ("Name (needed)", "Mina Invented"),
        ("Make (needed)", "Mosfell"),
        ("Model (needed)", "Lom 400"),
        ("Frame number (needed)", "ZZZ TEST00A1000018"),
        ("Odometer, km", "12 345"),
        ("As the customer tells it", LONG * 6),
    ):
        page.get_by_label(label, exact=True).fill(value)


def test_a_known_customer_is_found_while_typing_and_nothing_typed_is_lost(
    site: Site, windows: Windows, known: str
) -> None:
    page = windows.open()
    enter(page, site, "desk", "/check-in")
    page.get_by_label("As the customer tells it").fill("typed before")
    page.get_by_label("Name (needed)").press_sequentially("ase")
    found = page.get_by_role("button", name="Åse Invented").first
    expect(found).to_be_visible()
    expect(page.locator("[data-known-list]")).to_contain_text(f"here already, job {known}")
    assert violations(page) == []
    found.click()
    expect(page.locator("input[name=customer_id]")).to_have_value("1")
    expect(page.get_by_label("As the customer tells it")).to_have_value("typed before")


def test_the_frame_number_is_explained_as_soon_as_it_stands_there(
    site: Site, windows: Windows
) -> None:
    page = windows.open()
    enter(page, site, "desk", "/check-in")
    page.get_by_label("Frame number (needed)").fill("1111 1111 2 1111 1111")
    said = page.locator("[data-frame-said]")
    expect(said).to_contain_text("Read as 11111111211111111.")
    expect(said).to_contain_text("1 belongs there")
    assert violations(page) == []


def test_damage_and_direction_are_chosen_on_the_drawings(site: Site, windows: Windows) -> None:
    page = windows.open()
    enter(page, site, "desk", "/check-in")
    fill_new(page)
    page.locator("label.on-fork").click()
    expect(page.get_by_role("checkbox", name="2 fork", exact=True)).to_be_checked()
    page.get_by_label("fork: damage").select_option("bent")
    expect(page.get_by_label("fuel tank: damage")).to_be_hidden()
    page.locator("label.h2").click()
    expect(page.locator("label.h2 input")).to_be_checked()
    assert violations(page) == []
    page.get_by_role("button", name="Check in").click()
    page.wait_for_url(re.compile(r"/jobs/J-.*/order"))
    follow(page, page.get_by_role("link", name=re.compile("^J-")))
    follow(page, page.get_by_role("listitem").filter(has_text="fork: bent").get_by_role("link"))
    expect(page.locator("select[name=about]")).to_have_value("zone.fork")


LABEL = """[...(document.activeElement.labels || [])].at(-1)?.textContent
  || document.activeElement.textContent"""


def test_a_machine_is_checked_in_by_the_keyboard_alone(site: Site, windows: Windows) -> None:
    page = windows.open()
    enter(page, site, "desk", "/check-in")
    page.get_by_label("Name (needed)").focus()
    page.keyboard.type("Mina Invented")
    for _number in range(40):
        page.keyboard.press("Tab")
        label = page.evaluate(LABEL)
        typed = {"Make (needed)": "Mosfell", "Model (needed)": "Lom",
                 "Frame number (needed)": "ZZZ TEST00A1000018"}  # fmt: skip
        if label.strip() in typed:
            page.keyboard.type(typed[label.strip()])
        if "front wheel" in label:
            page.keyboard.press("Space")
    page.get_by_role("button", name="Check in").focus()
    page.keyboard.press("Enter")
    page.wait_for_url(re.compile(r"/jobs/J-.*/order"))
    expect(page.locator("main")).to_contain_text("front wheel: damaged")
    expect(page.locator("main")).to_contain_text("Mosfell Lom")


def test_the_customer_signs_on_the_screen(site: Site, windows: Windows, known: str) -> None:
    page = windows.open(width=820)
    enter(page, site, "desk", f"/jobs/{known}")
    follow(page, page.locator("section.next a.go"))
    agree(page)
    follow_button(page, "Signed here")
    expect(page.locator("#summary")).to_contain_text("a signature is needed")
    draw(page)
    page.get_by_role("button", name="Sign anew").click()
    draw(page)
    page.get_by_role("button", name="Signed here").click()
    page.wait_for_url(f"{site.address}/jobs/{known}")
    follow(page, page.get_by_role("link", name="Order", exact=True))
    expect(page.get_by_role("img", name="Signature of Åse Invented")).to_have_count(2)
    assert violations(page) == []


def agree(page: Page) -> None:
    """Nothing is ticked for the customer."""
    for said in ("I have read the order and give it.", "I have read the notice on personal data."):
        expect(page.get_by_label(said)).not_to_be_checked()
        page.get_by_label(said).check()


def draw(page: Page) -> None:
    """A wave from left to right, as a finger would draw it."""
    field = page.get_by_role("img", name="Field for the signature")
    field.scroll_into_view_if_needed()
    box = field.bounding_box()
    assert box is not None
    page.mouse.move(box["x"] + 40, box["y"] + 60)
    page.mouse.down()
    for step in range(12):
        page.mouse.move(box["x"] + 40 + 20 * step, box["y"] + 60 + 40 * (step % 2))
    page.mouse.up()


def test_without_javascript_the_printed_card_is_signed(
    site: Site, windows: Windows, known: str, tmp_path: Path
) -> None:
    page = windows.open(javascript=False)
    enter(page, site, "desk", "/check-in")
    fill_new(page)
    page.get_by_label("Plate").fill("AB-12 CD")
    follow_button(page, "Been here before?")
    expect(page.get_by_role("button", name="Åse Invented").first).to_be_visible()
    expect(page.get_by_label("Name (needed)")).to_have_value("Mina Invented")
    page.get_by_role("button", name="Check in").click()
    page.wait_for_url(re.compile(r"/jobs/J-.*/order"))
    expect(page.get_by_role("button", name="Signed here")).to_be_hidden()
    expect(page.get_by_text("This browser runs no script")).to_be_visible()
    agree(page)
    follow_button(page, "Signed on the printed card")
    page.get_by_label("Take a photo, or choose files").set_input_files(picture(tmp_path))
    follow_button(page, "Add to the job")
    expect(page.get_by_role("img", name=re.compile("^Photo 1"))).to_be_visible()
    follow(page, page.get_by_role("link", name="On to the job card"))
    expect(page.get_by_text("Print this page with the browser's own command.")).to_be_visible()
    follow(page, page.get_by_role("link", name="To the job"))
    told = page.get_by_text("signed by Mina Invented on the printed card")
    expect(told, "order and notice").to_have_count(2)
    assert page.locator("section.next a.go").count() == 0


def picture(folder: Path) -> Path:
    """A photo as a camera gives it."""
    file = folder / "camera.jpg"
    file.write_bytes(from_a_camera())
    return file


def test_photos_are_chosen_in_the_check_in_itself(
    site: Site, windows: Windows, tmp_path: Path
) -> None:
    page = windows.open()
    enter(page, site, "desk", "/check-in")
    fill_new(page)
    page.locator("summary").get_by_text("Photos", exact=True).click()
    chosen = page.get_by_label("Photos of the machine as it came in")
    too_large = tmp_path / "large.jpg"
    too_large.write_bytes(b"0" * 21_000_000)
    chosen.set_input_files(too_large)
    page.get_by_role("button", name="Check in").click()
    assert "too much for one form" in chosen.evaluate("field => field.validationMessage")
    assert page.url == f"{site.address}/check-in"
    broken = tmp_path / "broken.jpg"
    broken.write_bytes(b"not a photo")
    chosen.set_input_files([picture(tmp_path), broken])
    page.get_by_role("button", name="Check in").click()
    page.wait_for_url(re.compile(r"/jobs/J-.*/photos"))
    expect(page.get_by_text("number 2 of those that were chosen")).to_be_visible()
    expect(page.get_by_role("img", name=re.compile("^Photo 1"))).to_be_visible()
    assert violations(page) == []


def test_two_desks_change_one_check_in_and_nothing_is_taken_back_unseen(
    site: Site, windows: Windows, known: str
) -> None:
    pages = []
    for _desk in range(2):
        page = windows.open(width=360)
        enter(page, site, "desk", f"/jobs/{known}/check-in")
        pages.append(page)
    quick, slow = pages
    quick.get_by_label("Telephone", exact=True).fill("+00 77")
    quick.get_by_role("button", name="Save the check-in").click()
    quick.wait_for_url(f"{site.address}/jobs/{known}")
    slow.get_by_label("Where it stands").fill("bay 9")
    follow_button(slow, "Save the check-in")
    expect(slow.locator(".notice")).to_contain_text("+00 77")
    assert violations(slow) == []
    slow.get_by_label("Telephone", exact=True).fill("+00 77")
    slow.get_by_role("button", name="Save the check-in").click()
    slow.wait_for_url(f"{site.address}/jobs/{known}")
    slow.goto(f"{site.address}/jobs/{known}/check-in")
    expect(slow.get_by_label("Telephone", exact=True)).to_have_value("+00 77")
    expect(slow.get_by_label("Where it stands")).to_have_value("bay 9")


@pytest.mark.parametrize("state", ["to_be_signed", "signed", "changed_since"])
def test_the_fullest_job_card_is_one_sheet_of_a4(
    site: Site, windows: Windows, tmp_path: Path, state: str
) -> None:
    people = actors_of(site.database)
    shop = Shop(lambda *_: None, site.database, people, {"now": NOW})  # type: ignore[arg-type]
    zones = ("front_wheel", "fork", "headlamp", "handlebar", "tank", "frame", "engine", "seat")
    number = new_job(
        shop,
        damage=[
            {"zone": zone, "side": "both", "look": "cracked", "note": "W" * 200} for zone in zones
        ],
        visible_damage=["M" * 200] * 30,
        belongings=["W" * 200] * 30,
        storage_place="W" * 60,
        incident={"account": "W" * 80 + " " + LONG * 10, "clock_direction": "11"},
    )
    page = windows.open()
    begin_session(page, site, "desk")
    if state != "to_be_signed":
        page.goto(f"{site.address}/jobs/{number}/order")
        agree(page)
        draw(page)
        page.get_by_role("button", name="Signed here").click()
        page.wait_for_url(f"{site.address}/jobs/{number}")
    if state == "changed_since":
        page.goto(f"{site.address}/jobs/{number}/machine")
        for label, value in (
            ("Make (needed)", "W" * 30),
            ("Frame number (needed)", "M" * 25),
            ("Plate", "W" * 15),
        ):
            page.get_by_label(label, exact=True).fill(value)
        page.get_by_label("Reason (needed)").fill("misread")
        page.locator("main button.go").click()
        page.wait_for_url(f"{site.address}/jobs/{number}")
    page.goto(f"{site.address}/jobs/{number}/card")
    expect(page.get_by_role("button", name="Print")).to_be_visible()
    assert violations(page) == []
    with pikepdf.open(sheet(page, tmp_path)) as printed:
        assert len(printed.pages) == 1
        width, height = (float(side) / 72 * 25.4 for side in printed.pages[0].mediabox[2:])
    assert (round(width), round(height)) == (210, 297)


def test_the_fullest_receipt_is_one_sheet_of_a4(
    site: Site, windows: Windows, tmp_path: Path
) -> None:
    people = actors_of(site.database)
    shop = Shop(lambda *_: None, site.database, people, {"now": NOW})  # type: ignore[arg-type]
    things = [f"{place} {'W' * 190}" for place in range(30)]
    damage = [{"zone": zone} for zone in ZONES]
    number = new_job(shop, belongings=things, damage=damage)
    with site.database.write() as session:
        given: dict[str, Any] = {"given_back": things[:20], "kept_because": LONG * 6}
        jobs.hand_over(session, people["desk"], number, "W" * 100, NOW, told=True, **given)
    page = windows.open()
    enter(page, site, "desk", f"/jobs/{number}/receipt")
    assert violations(page) == []
    expect(page.locator(".things li")).to_have_count(31)
    with pikepdf.open(sheet(page, tmp_path)) as printed:
        assert len(printed.pages) == 1


def sheet(page: Page, folder: Path) -> Path:
    """The page as the browser prints it."""
    file = folder / "card.pdf"
    page.pdf(path=file, prefer_css_page_size=True)
    return file


def test_a_call_is_noted_from_the_list(site: Site, windows: Windows, known: str) -> None:
    page = windows.open(width=820)
    enter(page, site, "desk")
    calls = page.locator("section.calls")
    expect(calls).to_contain_text("May the bar be replaced?")
    follow(page, calls.get_by_role("button", name="Not reached"))
    expect(calls).to_contain_text("tried")
    calls.locator("summary").get_by_text("Reached", exact=True).click()
    calls.get_by_label("What was said").fill("He agrees.")
    follow_button(page, "Note what was said")
    expect(calls).to_have_count(0)
    expect(page.get_by_role("heading", name="Today")).to_be_visible()
    assert page.url.startswith(f"{site.address}/?noted=")
