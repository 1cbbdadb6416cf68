"""A form that was refused leads to its mistakes. All pages: test_every_page."""

import re

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import Site, Windows
from tests.browser.steps import enter, follow_button, violations

pytestmark = pytest.mark.browser


def test_a_refused_form_leads_to_its_mistakes(site: Site, windows: Windows) -> None:
    page = windows.open()
    enter(page, site, "desk", "/check-in")
    follow_button(page, "Check in")
    expect(page).to_have_title(re.compile("^Error:"))
    expect(page.locator("#summary")).to_be_focused()
    assert violations(page) == []
    mistake = page.locator("#summary a").first
    target = mistake.get_attribute("href")
    assert target is not None
    assert target.startswith("#")
    mistake.click()
    expect(page.locator(f"[id='{target[1:]}']")).to_be_focused()
