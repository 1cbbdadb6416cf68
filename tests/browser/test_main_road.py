"""The whole road in a browser: from check-in to an adjuster who verifies the certificate."""

import re
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import Site, Windows
from tests.browser.steps import (
    check_in,
    follow_button,
    next_step,
    prepare,
    sign_in,
    submit,
    violations,
)
from tests.services.staff import PASSWORD

pytestmark = pytest.mark.browser


@pytest.mark.parametrize("javascript", [True, False], ids=["with_javascript", "without"])
def test_the_main_road(site: Site, windows: Windows, tmp_path: Path, javascript: bool) -> None:
    desk = windows.open(javascript=javascript)
    sign_in(desk, site.address, "desk")
    number = check_in(desk, site)
    floor = windows.open(javascript=javascript, width=820)
    sign_in(floor, site.address, "technician")
    prepare(floor, site, number)
    measure_before(floor, site, number)
    correct_and_measure_after(floor, site, number)
    inspector = windows.open(javascript=javascript)
    sign_in(inspector, site.address, "inspector")
    certificate = issue(inspector, site, number)
    link = make_link(desk, site, number)
    adjuster = windows.open(javascript=javascript, width=360)
    file = read_claim(adjuster, link, certificate, tmp_path)
    if javascript:
        assert violations(inspector) == []
        assert violations(adjuster) == []
    verify(adjuster, site, file)
    hand_over(desk, site, number)


def measure_before(page: Page, site: Site, number: str) -> None:
    submit(page, site, number, "before-head-bent.json", "before")
    finding = page.locator("section.finding")
    expect(finding.locator("> .verdict")).to_have_text("outside the tolerances")
    expect(finding.locator(".sentence")).to_have_text(
        "One part is not where it should be: the steering head "
        "(11 mm too far back, its top 1.1° to the left)."
    )
    expect(finding).to_contain_text("head twist")
    expect(page.locator("figure.sheet svg")).to_be_visible()
    expect(page.locator("table td.bar svg").first).to_be_visible()
    expect(page.get_by_role("row", name="head twist")).to_contain_text("1.09° anticlockwise")


def correct_and_measure_after(page: Page, site: Site, number: str) -> None:
    page.goto(f"{site.address}/jobs/{number}/correction")
    page.get_by_label("What was done").fill("Head pulled forward on the bench, cold.")
    page.get_by_label("The customer was asked and agreed to this correction").check()
    page.get_by_label("Who agreed").fill("Mina Invented, by telephone")
    follow_button(page, "Note the correction")
    submit(page, site, number, "after-corrected.json", "after")
    verdict = page.locator("section.finding > .verdict")
    expect(verdict).to_have_text("within the tolerances")
    page.goto(f"{site.address}/jobs/{number}/before-and-after")
    expect(page.get_by_role("row", name="head twist")).to_contain_text("1.09° anticlockwise")
    expect(page.locator(".sheet g.before circle").first).to_be_visible()


def issue(page: Page, site: Site, number: str) -> str:
    next_step(page, site, number)
    expect(page.get_by_label("completion certificate")).to_be_checked()
    page.get_by_label("Your password again").fill(PASSWORD)
    page.get_by_role("button", name="Sign and issue").click()
    page.wait_for_url(f"{site.address}/certificates/*")
    expect(page.get_by_text("It is in force.")).to_be_visible()
    return page.url.rpartition("/")[2]


def make_link(page: Page, site: Site, number: str) -> str:
    page.goto(f"{site.address}/jobs/{number}/links")
    page.get_by_label("For whom", exact=True).fill("Invented Mutual")
    follow_button(page, "Make a link")
    link = page.locator("#claim-link").get_attribute("href")
    assert link is not None
    assert re.fullmatch(rf"{re.escape(site.address)}/claim/[\w-]{{43}}", link)
    return link


def read_claim(page: Page, link: str, certificate: str, folder: Path) -> Path:
    page.goto(link)
    expect(page.get_by_role("heading", level=1)).to_contain_text(certificate)
    expect(page.locator("section.finding .verdict")).to_have_text("within the tolerances")
    with page.expect_download() as downloading:
        page.get_by_role("link", name="Download the certificate").click()
    file = folder / "certificate.pdf"
    downloading.value.save_as(file)
    assert downloading.value.suggested_filename.startswith(certificate)
    return file


def verify(page: Page, site: Site, file: Path) -> None:
    page.goto(f"{site.address}/verify")
    page.get_by_label("Certificate file").set_input_files(file)
    follow_button(page, "Check")
    expect(
        page.get_by_text("Unaltered: the file is exactly as the shop signed it.")
    ).to_be_visible()
    expect(page.get_by_text("In force:")).to_be_visible()
    altered = file.with_name("altered.pdf")
    altered.write_bytes(file.read_bytes() + b"\n")
    page.get_by_label("Certificate file").set_input_files(altered)
    follow_button(page, "Check")
    expect(page.get_by_text("Altered: something was added")).to_be_visible()


def hand_over(page: Page, site: Site, number: str) -> None:
    next_step(page, site, number)
    page.get_by_label("To whom").fill("Mina Invented")
    follow_button(page, "Handed over")
    expect(page.get_by_text("Nothing is left to do")).to_be_visible()
