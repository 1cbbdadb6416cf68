"""Light or dark: as the device has it, unless this browser was told otherwise."""

import re

import pytest

from tests.web.shop import ORIGIN, Shop, Visitor, ready_job


def sheet(text: str) -> str | None:
    """When the inks of a dark page apply; None: never."""
    found = re.search(r'<link rel="stylesheet" href="[^"]*dark\.css[^"]*" media="([^"]+)">', text)
    return found[1] if found else None


def pressed(text: str) -> list[str]:
    return re.findall(r'name="shade" value="(\w*)" aria-pressed="true"', text)


def choose(visitor: Visitor, shade: str, before: str = "/sign-in") -> str:
    headers = {"Origin": ORIGIN, "Referer": ORIGIN + before}
    answer = visitor.ask("POST", "/shade", data={"shade": shade}, headers=headers)
    assert answer.status_code == 303
    return answer.headers["location"]


@pytest.mark.parametrize(
    ("shade", "applies", "scheme"),
    [
        ("light", None, "light"),
        ("dark", "screen", "dark"),
        ("", "screen and (prefers-color-scheme: dark)", "light dark"),
        ("mauve", "screen and (prefers-color-scheme: dark)", "light dark"),
    ],
)
def test_the_choice_holds_for_every_page_of_this_browser(
    shop: Shop, shade: str, applies: str | None, scheme: str
) -> None:
    visitor = shop.visitor()
    choose(visitor, "dark")
    choose(visitor, shade)
    for path in ("/sign-in", "/verify", "/no-such-page"):
        text = visitor.get(path).text
        assert sheet(text) == applies
        assert f'<meta name="color-scheme" content="{scheme}">' in text
        assert pressed(text) == [shade if applies in (None, "screen") else ""]
    assert sheet(shop.visitor().get("/sign-in").text) == "screen and (prefers-color-scheme: dark)"


def test_pages_that_are_kept_follow_too(shop: Shop) -> None:
    technician = shop.signed_in("technician")
    number = ready_job(shop)
    assert technician.post(f"/jobs/{number}/drafts", {"phase": "before"}).status_code == 303
    step = f"/jobs/{number}/drafts/1/steps/cautions"
    assert sheet(technician.get(step).text) == "screen and (prefers-color-scheme: dark)"
    assert choose(technician, "light", f"{step}?taken=1") == f"{step}?taken=1"
    assert sheet(technician.get(step).text) is None
    choose(technician, "dark")
    assert sheet(technician.get(step).text) == "screen"


@pytest.mark.parametrize("before", ["//elsewhere.test/", "/no/such/page", "/sign-out", ""])
def test_only_a_page_of_ours_is_come_back_to(shop: Shop, before: str) -> None:
    assert choose(shop.visitor(), "dark", before) == "/"


def test_it_is_not_asked_where_browsers_do_not_say_which_page_sent_a_form(shop: Shop) -> None:
    assert 'name="shade"' not in shop.visitor().get("/claim/not-a-link").text
    assert 'name="shade"' in shop.visitor().get("/sign-in").text
