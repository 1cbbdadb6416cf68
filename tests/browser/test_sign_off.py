"""The inspector's road in a browser: the queue, sent back, answered, signed."""

import re

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import Site, Windows
from tests.browser.floor_steps import people_of
from tests.browser.steps import enter, follow, follow_button, violations
from tests.databases import NOW
from tests.services.staff import PASSWORD
from tests.web.shop import Shop, measured_job

pytestmark = pytest.mark.browser

BOTH = ("before-head-bent.json", "after-corrected.json")
WHY = "Were the adjusters the same in both measurements?"
ANSWER = "Yes: both at mark 4, photo taken."


@pytest.fixture
def number(site: Site) -> str:
    """A job that waits for a signature."""
    shop = Shop(lambda *_: None, site.database, people_of(site), {"now": NOW})  # type: ignore[arg-type]
    return measured_job(shop, BOTH)


@pytest.mark.parametrize("javascript", [True, False], ids=["with_javascript", "without"])
def test_an_inspector_sends_back_reads_the_answer_and_signs(
    site: Site, windows: Windows, number: str, javascript: bool
) -> None:
    inspector = windows.open(javascript=javascript)
    enter(inspector, site, "inspector")
    open_review(inspector, number)
    if javascript:
        take_the_draft(inspector)
    note(inspector, number)
    if javascript:
        assert violations(inspector) == []
    send_back(inspector)
    technician = windows.open(javascript=javascript, width=820)
    enter(technician, site, "technician")
    answer(technician, number, look=javascript)
    open_review(inspector, number)
    expect(inspector.get_by_text(ANSWER)).to_have_count(2)
    sign(inspector, site)


def open_review(page: Page, number: str) -> None:
    """From the main menu through the queue."""
    follow(page, page.get_by_role("link", name="To sign", exact=True).first)
    row = page.get_by_role("row", name=re.compile(number))
    expect(row).to_contain_text("a completion certificate can be signed")
    follow(page, row.get_by_role("link", name=number))


def take_the_draft(page: Page) -> None:
    """A file is no other page: what was typed stays, and the form can be sent again."""
    name = {"content-disposition": 'attachment; filename="draft.pdf"'}
    page.route("**/certificates/draft", lambda route: route.fulfill(headers=name, body=b"%PDF-"))
    page.get_by_label("Opinion, if you give one").fill("Ride it again.")
    with page.expect_download():
        page.get_by_role("button", name="See its pages first").click()
    expect(page.locator("[aria-disabled]")).to_have_count(0)
    expect(page.get_by_label("Opinion, if you give one")).to_have_value("Ride it again.")


def note(page: Page, number: str) -> None:
    """A remark for both, written where one reads."""
    page.get_by_text("Note something").click()
    page.get_by_label("What is to be known").fill("Compared with the photos.")
    follow_button(page, "Note it")
    expect(page).to_have_url(re.compile(f"/jobs/{number}/sign-off(#|$)"))
    expect(page.get_by_text("Compared with the photos.")).to_be_visible()


def send_back(page: Page) -> None:
    follow(page, page.get_by_role("link", name="Send it back to the technician"))
    page.get_by_label("What is to be measured again, or answered").fill(WHY)
    follow_button(page, "Send it back")
    expect(page.get_by_text(WHY)).to_be_visible()
    follow(page, page.get_by_role("link", name="To sign", exact=True).first)
    expect(page.get_by_text("Nothing waits for a signature.")).to_be_visible()
    expect(page.get_by_role("heading", name="Sent back, with the technician")).to_be_visible()


def answer(page: Page, number: str, *, look: bool) -> None:
    """The technician reads why on the job, and answers without measuring."""
    expect(page.get_by_text("sent back by the inspector")).to_be_visible()
    follow(page, page.get_by_role("link", name=number))
    expect(page.get_by_text(WHY)).to_be_visible()
    if look:
        assert violations(page) == []
    follow(page, page.get_by_role("link", name="Answer without measuring again"))
    page.get_by_label("Your answer").fill(ANSWER)
    follow_button(page, "Answer")
    expect(page.get_by_text(WHY)).to_have_count(0)
    expect(page.get_by_text("The job waits for the inspector.")).to_be_visible()


def sign(page: Page, site: Site) -> None:
    """With the password again; a wrong one is told beside its field."""
    page.get_by_label("Your password again").fill("not it")
    follow_button(page, "Sign and issue")
    expect(page.get_by_role("alert")).to_contain_text("The password is not right")
    page.get_by_label("Your password again").fill(PASSWORD)
    page.get_by_role("button", name="Sign and issue").click()
    page.wait_for_url(f"{site.address}/certificates/*")
    expect(page.get_by_text("It is in force.")).to_be_visible()
    follow(page, page.get_by_role("link", name="To sign", exact=True).first)
    expect(page.get_by_text("Nothing waits for a signature.")).to_be_visible()
