"""The desk's ways that depend on a browser: Enter in a form, what a call leaves, with and without
JavaScript."""

import re
from datetime import timedelta

import pytest
from playwright.sync_api import Page, expect

from app.schemas.note import NoteIn
from app.services import notes
from tests.browser.conftest import Site, Windows
from tests.browser.steps import enter, follow, follow_button, violations
from tests.databases import NOW
from tests.web.shop import Shop, actors_of, new_job

QUESTION = "May the bar be replaced?"


@pytest.fixture
def number(site: Site) -> str:
    """A job whose customer is to be called, and whose promised day is past."""
    people = actors_of(site.database)
    shop = Shop(lambda *_: None, site.database, people, {"now": NOW})  # type: ignore[arg-type]
    made = new_job(shop, promised_on=f"{(NOW + timedelta(days=1)).date()}")
    with site.database.write() as session:
        note = NoteIn(words=QUESTION, call="customer")
        notes.add(session, people["technician"], made, note, NOW)
    return made


def test_enter_in_any_field_of_the_check_in_does_what_its_button_does(
    site: Site, windows: Windows
) -> None:
    page = windows.open()
    enter(page, site, "desk", "/check-in")
    expect(page.get_by_label("Name (needed)")).to_be_focused()
    page.keyboard.type("Mina Invented")
    for label, text in (
        ("Make (needed)", "Mosfell"),
        ("Model (needed)", "Lom 400"),
        ("Frame number (needed)", "ENTER-4711"),
        ("Claim number", "CL/ENTER"),
    ):
        page.get_by_label(label).fill(text)
    page.get_by_label("Claim number").press("Enter")
    page.wait_for_url(re.compile(r"/jobs/J-[0-9-]+/order"))


def test_enter_behind_the_telephone_looks_up_and_checks_nothing_in(
    site: Site, windows: Windows, number: str
) -> None:
    page = windows.open()
    enter(page, site, "desk", "/check-in")
    page.get_by_label("Telephone", exact=True).fill("+00 12 34-56")
    page.get_by_label("Telephone", exact=True).press("Enter")
    page.wait_for_url(re.compile(r"/check-in/look-up"))
    expect(page.locator("[data-known-list]")).to_contain_text("Åse Invented")
    page.goto(f"{site.address}/jobs/{number}/machine")
    expect(page.get_by_label("Make (needed)")).to_be_focused()
    page.get_by_label("Frame number (needed)").fill("JZZAAO000XA0001")
    expect(page.locator("[data-frame-said]")).to_contain_text("has 15 characters")


def test_enter_too_early_loses_nothing(site: Site, windows: Windows) -> None:
    page = windows.open(javascript=False)
    enter(page, site, "desk", "/check-in")
    page.get_by_label("Name (needed)").fill("Mina Invented")
    page.get_by_label("Name (needed)").press("Enter")
    expect(page.locator("#summary")).to_be_visible()
    expect(page.get_by_label("Name (needed)")).to_have_value("Mina Invented")


def test_the_button_of_the_look_up_still_looks_up_and_stays_where_it_is(
    site: Site, windows: Windows, number: str
) -> None:
    page = windows.open()
    enter(page, site, "desk", "/check-in")
    page.get_by_label("Name (needed)").fill("ase")
    follow_button(page, "Been here before?")
    expect(page.get_by_text("On record already:")).to_be_visible()
    assert page.url.endswith("/check-in/look-up#customer")


@pytest.mark.parametrize("javascript", [True, False], ids=["with", "without"])
def test_a_call_asks_what_was_said_and_is_taken_back(
    site: Site, windows: Windows, number: str, javascript: bool
) -> None:
    page = windows.open(width=820, javascript=javascript)
    enter(page, site, "desk")
    calls = page.locator("section.calls")
    expect(calls).to_contain_text(QUESTION)
    follow(page, calls.get_by_role("button", name="Not reached"))
    expect(calls).to_contain_text("tried")
    follow(page, calls.get_by_role("button", name="Left a message"))
    expect(calls).to_contain_text("message left")
    note_what_was_said(page, "Yes, replace it.")
    expect(page.locator("#summary")).to_contain_text("the day that was promised in the call")
    page.get_by_label("Promised for, from now on").select_option("stands")
    follow(
        page, page.locator("section.number").first.get_by_role("button", name="Reached", exact=True)
    )
    expect(page.locator(".notice.good")).to_contain_text("“Yes, replace it.”")
    expect(calls).to_have_count(0)
    if javascript:
        assert violations(page) == []
    follow_button(page, "Take it back")
    expect(calls).to_contain_text(QUESTION)
    assert page.url == f"{site.address}/"


def note_what_was_said(page: Page, words: str) -> None:
    calls = page.locator("section.calls")
    calls.locator("summary").click()
    calls.get_by_label("What was said").fill(words)
    follow(page, calls.get_by_role("button", name="Note what was said"))


def test_the_machine_of_a_cancelled_job_is_handed_over_without_javascript(
    site: Site, windows: Windows, number: str
) -> None:
    page = windows.open(width=390, javascript=False)
    enter(page, site, "desk", f"/jobs/{number}/cancel")
    page.get_by_label("Reason (needed)").fill("sold as it stands")
    follow_button(page, "Cancel this job")
    follow(page, page.locator("section.next a.go"))
    page.get_by_label("To whom").fill("Åse Invented")
    page.get_by_label("one key").check()
    follow_button(page, "Handed over")
    expect(page.locator("#summary")).to_contain_text("top case")
    expect(page.get_by_label("one key")).to_be_checked()
    page.get_by_label("top case").check()
    follow_button(page, "Handed over")
    expect(page.locator("section.next")).to_contain_text("Given back on")
    expect(page.get_by_role("heading", name="Nothing is left to do")).to_be_visible()


def test_axe_finds_nothing_where_a_machine_leaves(
    site: Site, windows: Windows, number: str
) -> None:
    page = windows.open(width=390)
    enter(page, site, "desk", f"/jobs/{number}/hand-over")
    assert violations(page) == []
    follow_button(page, "Handed over")
    expect(page.locator("#summary")).to_be_visible()
    assert violations(page) == []
    page.goto(f"{site.address}/jobs/{number}/cancel")
    assert violations(page) == []
