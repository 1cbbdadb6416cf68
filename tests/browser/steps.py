"""What people do in the browser, step by step."""

import time
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from playwright.sync_api import Error, Locator, Page, expect

from app import resources
from app.services.sessions import open_session
from app.web.cookies import PLAIN_NAME
from tests.browser import looks
from tests.browser.conftest import PATIENCE_MS, Site
from tests.services.staff import PASSWORD
from tests.web.shop import actors_of


def enter(page: Page, site: Site, name: str, path: str = "/") -> None:
    """Open a page as somebody who is signed in: signing in has tests of its own."""
    begin_session(page, site, name)
    page.goto(site.address + path)


def begin_session(page: Page, site: Site, name: str, by: str = "") -> None:
    """The same without a page yet. by: the address by which this browser knows the server."""
    address = by or site.address
    with site.database.write() as session:
        person = actors_of(site.database)[name]
        secret = open_session(session, person, datetime.now(UTC)).secret
    page.context.add_cookies([{"name": PLAIN_NAME, "value": secret, "url": address}])


def follow(page: Page, way: Locator) -> None:
    """Press what leads to another page, and wait until that is there.

    Whoever asks for the next page before may take the press back: the browser drops a form that
    is still being sent.
    """
    with page.expect_navigation():
        way.click()


def follow_button(page: Page, name: str) -> None:
    """The same with the button of this name."""
    follow(page, page.get_by_role("button", name=name, exact=True))


def wait_until(page: Page, holds: str) -> None:
    """Wait until what this script says is true, on whatever page it is by then.

    The pages forbid Playwright's own way, which makes functions of strings.
    """
    end = time.monotonic() + PATIENCE_MS / 1000
    while time.monotonic() < end:
        # A page that is just being left gives no answer.
        with suppress(Error):
            if page.evaluate(holds):
                return
        page.wait_for_timeout(50)
    raise AssertionError(f"waited in vain: {holds}")


def sign_in(page: Page, address: str, name: str) -> None:
    """Through the form, as everybody does."""
    page.goto(f"{address}/sign-in")
    page.get_by_label("Name").fill(name)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url(f"{address}/")


def sign_out(page: Page, address: str) -> None:
    """Through the button, until the form to sign in stands there."""
    page.get_by_role("button", name="Sign out").click()
    page.wait_for_url(f"{address}/sign-in")


def check_in(page: Page, site: Site) -> str:
    """The desk takes a machine in; gives the job's number."""
    follow(page, page.get_by_role("link", name="Check a machine in"))
    for label, value in (
        ("Name (needed)", "Mina Invented"),
        ("Make (needed)", "Fjordmark"),
        ("Model (needed)", "Skarv 700"),
        ("Frame number (needed)", "ZZZ TEST00A1000017"),
        ("Plate", "AB-12 CD"),
        ("Claim number", "CL/2026-77"),
        ("Name of a new insurer", "Invented Mutual"),
    ):
        page.get_by_label(label, exact=True).fill(value)
    page.get_by_label("Kind of impact").select_option("front_on")
    page.get_by_role("button", name="Check in").click()
    page.wait_for_url(f"{site.address}/jobs/*/order?arrival=yes")
    number = page.url.split("/")[-2]
    page.goto(f"{site.address}/jobs/{number}")
    return number


def next_step(page: Page, site: Site, number: str) -> None:
    """Follow the one large action of the job's page."""
    page.goto(f"{site.address}/jobs/{number}")
    follow(page, page.locator("section.next a.go"))


def prepare(page: Page, site: Site, number: str) -> None:
    """Reference, instrument and visual check, each where the job's page leads."""
    next_step(page, site, number)
    page.locator("input[name=reference]").first.check()
    follow_button(page, "Choose this reference")
    page.get_by_label("Why a reference of another machine holds for this one").fill("same frame")
    follow_button(page, "Choose this reference")
    next_step(page, site, number)
    page.locator("input[name=instrument]").first.check()
    follow_button(page, "Choose this instrument")
    next_step(page, site, number)
    look_all_over(page)
    page.goto(f"{site.address}/jobs/{number}")


def look_all_over(page: Page) -> None:
    """One tap an item, screen after screen, until nothing is open."""
    follow(page, page.locator("a.go"))
    expect(page.locator(".taps.large")).to_be_visible()
    while page.locator(".taps.large").count():
        follow_button(page, "Looked, nothing seen")


def submit(page: Page, site: Site, number: str, file: str, phase: str) -> None:
    """Send a survey file and arrive at its finding."""
    page.goto(f"{site.address}/jobs/{number}/measure?phase={phase}")
    page.get_by_label("Survey file").set_input_files(seed_file(file))
    page.get_by_role("button", name="Send the file or table").click()
    page.wait_for_url(f"{site.address}/jobs/{number}/surveys/*")


def seed_file(name: str) -> Path:
    """A file to try by hand."""
    return resources.seed_data() / name


def violations(page: Page) -> list[Any]:
    """What axe finds, in short."""
    looks.load(page)
    return looks.violations(page)
