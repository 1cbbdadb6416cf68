"""What people do in the browser, step by step."""

from pathlib import Path
from typing import Any

from playwright.sync_api import Page

from app import resources
from tests.browser import looks
from tests.browser.conftest import Site
from tests.services.staff import PASSWORD


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
    page.get_by_role("link", name="Check a machine in").click()
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
    page.locator("section.next a.go").click()


def prepare(page: Page, site: Site, number: str) -> None:
    """Reference, instrument and visual check, each where the job's page leads."""
    next_step(page, site, number)
    page.locator("input[name=reference]").first.check()
    page.get_by_role("button", name="Choose this reference").click()
    page.get_by_label("Why a reference of another machine holds for this one").fill("same frame")
    page.get_by_role("button", name="Choose this reference").click()
    next_step(page, site, number)
    page.locator("input[name=instrument]").first.check()
    page.get_by_role("button", name="Choose this instrument").click()
    next_step(page, site, number)
    look_all_over(page)
    page.goto(f"{site.address}/jobs/{number}")


def look_all_over(page: Page) -> None:
    """One tap an item, screen after screen, until nothing is open."""
    page.locator("a.go").click()
    while page.locator(".taps.large").count():
        with page.expect_navigation():
            page.get_by_role("button", name="Looked, nothing seen", exact=True).click()


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
