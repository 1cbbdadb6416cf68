"""A form that was refused leads to its mistakes. All pages: test_every_page."""

import pytest

from tests.browser.conftest import Site, Windows
from tests.browser.steps import sign_in, violations

pytestmark = pytest.mark.browser


def test_a_refused_form_leads_to_its_mistakes(site: Site, windows: Windows) -> None:
    page = windows.open()
    sign_in(page, site.address, "desk")
    page.goto(f"{site.address}/check-in")
    page.get_by_role("button", name="Check in").click()
    assert page.title().startswith("Error:")
    assert page.evaluate("document.activeElement.id") == "summary"
    assert violations(page) == []
    page.locator("#summary a").first.click()
    target = page.url.partition("#")[2]
    assert page.evaluate("document.activeElement.id") == target
