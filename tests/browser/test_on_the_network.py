"""Plain http on the shop's own network: what browsers do there, and that signing in works."""

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import Site, Windows
from tests.browser.steps import enter, follow_button, sign_in

pytestmark = pytest.mark.browser


def test_people_sign_in_over_plain_http_where_that_was_chosen(site: Site, windows: Windows) -> None:
    """Browsers drop `Secure` cookies there and send no Sec-Fetch-Site."""
    page = windows.open()
    sign_in(page, site.on_the_network, "desk")
    assert page.evaluate("window.isSecureContext") is False
    expect(page.get_by_text("This shop runs without encryption")).to_be_visible()
    follow_button(page, "Sign out")
    expect(page.get_by_role("heading", name="Sign in")).to_be_visible()
    # Browsers say that they heed these two headers over TLS only; they are sent all the same.
    over_tls_only = ("The Cross-Origin-Opener-Policy header", "Clear-Site-Data header")
    assert all(text.startswith(over_tls_only) for text in windows.complaints)
    windows.complaints.clear()


def test_a_form_on_another_site_changes_nothing_here(site: Site, windows: Windows) -> None:
    page = windows.open()
    enter(page, site, "desk")
    page.route(
        "http://evil.test/**",
        lambda route: route.fulfill(
            content_type="text/html",
            body=f"<form method=post action='{site.address}/sign-out'><button>Win</button></form>",
        ),
    )
    page.goto("http://evil.test/")
    with page.expect_navigation() as going:
        page.get_by_role("button", name="Win").click()
    assert going.value.status == 403
    assert windows.complaints == []
    page.goto(f"{site.address}/")
    expect(page.get_by_role("heading", name="Today")).to_be_visible()
