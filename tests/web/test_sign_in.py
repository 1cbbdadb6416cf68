"""Getting in and out: sessions, cookies, throttling, forced change of a one-time password."""

from http.cookies import SimpleCookie
from pathlib import Path

import httpx
import pytest

from app.records.session import Database
from app.services.joining import reset_password
from app.web.pages.sign_in import local_target
from tests.databases import CHEAP
from tests.services.staff import PASSWORD
from tests.web.shop import Shop, Visitor, open_shop, text_of

WRONG = {"sign_in_name": "desk", "password": "not the password at all"}
RIGHT = {"sign_in_name": "desk", "password": PASSWORD}


def flags_of(answer: httpx.Response) -> tuple[str, dict[str, str]]:
    """Name and attributes of the one cookie that was set."""
    parsed = SimpleCookie(answer.headers["set-cookie"])
    assert len(parsed) == 1
    name, morsel = next(iter(parsed.items()))
    return name, {key: str(value) for key, value in morsel.items() if value}


def test_whoever_is_not_signed_in_is_sent_to_sign_in_and_then_on(shop: Shop) -> None:
    visitor = shop.visitor()
    asked = visitor.get("/references?q=fjord")
    assert asked.status_code == 303
    assert asked.headers["location"] == "/sign-in?next=%2Freferences%3Fq%3Dfjord"
    form = visitor.get(asked.headers["location"])
    assert 'value="/references?q=fjord"' in form.text
    done = visitor.post("/sign-in", {**RIGHT, "next": "/references?q=fjord"})
    assert done.status_code == 303
    assert done.headers["location"] == "/references?q=fjord"


def test_signing_in_ends_the_session_that_the_browser_brought_along_whoevers_it_was(
    shop: Shop,
) -> None:
    visitor = shop.signed_in("owner")
    brought = httpx.Cookies(visitor.cookies)
    assert visitor.post("/sign-in", RIGHT).status_code == 303
    other = shop.visitor()
    other.cookies = brought
    assert other.get("/").headers["location"] == "/sign-in", "the owner's session is over"
    assert visitor.get("/").status_code == 200


@pytest.mark.parametrize(
    "target",
    ["//evil.example", "https://evil.example", "/\\evil.example", "evil", "", "/\t/evil", "/\r\nx"],
)
def test_signing_in_never_leads_to_another_site(target: str) -> None:
    assert local_target(target) == "/"


def test_a_plain_cookie_is_kept_by_a_browser_on_plain_http(shop: Shop) -> None:
    answer = shop.visitor().post("/sign-in", RIGHT)
    name, flags = flags_of(answer)
    assert name == "sid"
    assert flags == {"path": "/", "httponly": "True", "samesite": "lax"}


def test_the_cookie_under_tls_is_secure_and_bound_to_the_host(
    shop: Shop, database: Database, tmp_path: Path
) -> None:
    behind = open_shop(database, shop.people, tmp_path, public_url="https://jigs.example.org")
    visitor = Visitor(behind.app, "https://jigs.example.org")
    name, flags = flags_of(visitor.post("/sign-in", RIGHT))
    assert name == "__Host-sid"
    assert flags == {"path": "/", "httponly": "True", "samesite": "lax", "secure": "True"}


def test_a_plain_cookie_is_not_read_over_tls(
    shop: Shop, database: Database, tmp_path: Path
) -> None:
    behind = open_shop(database, shop.people, tmp_path, public_url="https://jigs.example.org")
    secret = shop.signed_in("desk").cookies["sid"]
    visitor = Visitor(behind.app, "https://jigs.example.org")
    visitor.cookies.set("sid", secret)
    assert visitor.get("/").headers["location"] == "/sign-in"
    visitor.cookies.set("__Host-sid", secret)
    assert visitor.get("/").status_code == 200


def test_a_session_that_was_planted_is_not_taken_over(shop: Shop) -> None:
    visitor = shop.visitor()
    visitor.cookies.set("sid", "planted-by-somebody-else", domain="127.0.0.1", path="/")
    visitor.post("/sign-in", RIGHT)
    secrets = [cookie.value for cookie in visitor.cookies.jar if cookie.value]
    assert "planted-by-somebody-else" not in secrets
    assert len(secrets[0] or "") >= 43


def test_signing_in_again_ends_the_session_that_was_there(shop: Shop) -> None:
    visitor = shop.signed_in("desk")
    first = visitor.cookies["sid"]
    visitor.post("/sign-in", RIGHT)
    old = shop.visitor()
    old.cookies.set("sid", first)
    assert visitor.cookies["sid"] != first
    assert old.get("/").status_code == 303
    assert visitor.get("/").status_code == 200


def test_only_the_digest_of_the_cookie_is_on_record(shop: Shop) -> None:
    secret = shop.signed_in("desk").cookies["sid"]
    assert secret not in str(shop.digest())


def test_signing_out_ends_the_session_for_every_copy_of_its_cookie(shop: Shop) -> None:
    visitor = shop.signed_in("desk")
    copy = shop.visitor()
    copy.cookies.set("sid", visitor.cookies["sid"])
    answer = visitor.post("/sign-out")
    assert answer.headers["location"] == "/sign-in"
    assert answer.headers["clear-site-data"] == '"cache"'
    assert copy.get("/").status_code == 303


def test_a_session_ends_after_eight_hours_without_use_and_later_on_the_floor(shop: Shop) -> None:
    desk, tablet = shop.signed_in("desk"), shop.visitor()
    tablet.post("/sign-in", {**RIGHT, "on_floor": "1"})
    shop.later(hours=8, minutes=1)
    assert desk.get("/").status_code == 303
    assert tablet.get("/").status_code == 200


def test_use_keeps_a_session_alive_but_not_beyond_a_day(shop: Shop) -> None:
    visitor = shop.signed_in("desk")
    for _hours in range(3):
        shop.later(hours=7)
        assert visitor.get("/").status_code == 200
    shop.later(hours=4)
    assert visitor.get("/").status_code == 303


def test_a_wrong_password_and_an_unknown_name_are_told_the_same(shop: Shop) -> None:
    wrong = shop.visitor().post("/sign-in", WRONG)
    unknown = shop.visitor().post("/sign-in", {**WRONG, "sign_in_name": "nobody-here"})
    assert wrong.status_code == unknown.status_code == 401
    message = "Name and password do not belong together"
    assert message in text_of(wrong.text)
    assert message in text_of(unknown.text)


def test_guessing_is_slowed_down_and_says_how_long(shop: Shop) -> None:
    visitor = shop.visitor()
    codes = [visitor.post("/sign-in", WRONG).status_code for _try in range(6)]
    assert codes[:5] == [401] * 5
    refused = visitor.post("/sign-in", RIGHT)
    assert refused.status_code == 429
    assert int(refused.headers["retry-after"]) > 0
    other = shop.visitor().post("/sign-in", {**RIGHT, "sign_in_name": "technician"})
    assert other.status_code == 303
    shop.later(minutes=5)
    assert visitor.post("/sign-in", RIGHT).status_code == 303


def test_the_password_is_never_shown_again_on_the_form(shop: Shop) -> None:
    answer = shop.visitor().post("/sign-in", WRONG)
    assert WRONG["password"] not in answer.text
    assert 'value="desk"' in answer.text


def test_a_one_time_password_must_be_changed_before_anything_else(shop: Shop) -> None:
    desk = shop.people["desk"].person_id
    assert desk is not None
    given = reset_password(
        shop.database, shop.people["owner"], desk, shop.clock["now"], passwords=CHEAP
    )
    visitor = shop.visitor()
    visitor.post("/sign-in", {"sign_in_name": "desk", "password": given.password})
    assert visitor.get("/").headers["location"] == "/password"
    assert visitor.post("/check-in").status_code == 403
    before = visitor.cookies["sid"]
    new = " with two spaces around  "
    sent = {
        "current_password": given.password, "new_password": new, "new_password_again": new,
    }  # fmt: skip
    assert visitor.post("/password", sent).headers["location"] == "/"
    assert visitor.cookies["sid"] != before
    assert visitor.get("/").status_code == 200
    again = shop.visitor().post("/sign-in", {"sign_in_name": "desk", "password": new})
    assert again.status_code == 303


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"current_password": "something else here"}, "current_password"),
        ({"new_password": "short", "new_password_again": "short"}, "new_password"),
        ({"new_password_again": "a different one again"}, "new_password_again"),
    ],
)
def test_a_change_of_password_is_refused_at_its_field(
    shop: Shop, change: dict[str, str], field: str
) -> None:
    sent = {
        "current_password": PASSWORD,
        "new_password": "nine kites over the hill",
        "new_password_again": "nine kites over the hill",
    }
    answer = shop.signed_in("desk").post("/password", {**sent, **change})
    assert answer.status_code == 422
    assert f'<a href="#{field}">' in answer.text


def test_changing_the_password_ends_other_sessions(shop: Shop) -> None:
    one, other = shop.signed_in("desk"), shop.signed_in("desk")
    new = "nine kites over the hill"
    sent = {"current_password": PASSWORD, "new_password": new, "new_password_again": new}
    assert one.post("/password", sent).status_code == 303
    assert one.get("/").status_code == 200
    assert other.get("/").status_code == 303
