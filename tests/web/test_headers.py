"""The headers of every answer, whoever made it."""

from pathlib import Path

import httpx
import pytest

from app.records.session import Database
from app.web.headers import CONTENT_SECURITY_POLICY, always
from app.web.routes import ROUTES
from tests.web.routes import address_of
from tests.web.shop import ORIGIN, Shop, Visitor, measured_job, open_shop

READABLE = [r for r in ROUTES.values() if r.door == "pages" and r.method == "GET"]


def check(answer: httpx.Response) -> None:
    """All of the strict headers, nothing that opens a door, a charset on text."""
    for name, value in always(answer.request.url.path).items():
        assert answer.headers[name] == value
    assert "access-control-allow-origin" not in answer.headers
    assert "cache-control" in answer.headers
    content_type = answer.headers.get("content-type", "")
    if content_type.startswith("text/"):
        assert "charset=utf-8" in content_type


def test_the_policy_lets_nothing_in_from_elsewhere() -> None:
    assert CONTENT_SECURITY_POLICY.startswith("default-src 'none'; ")
    assert "unsafe" not in CONTENT_SECURITY_POLICY
    assert "http" not in CONTENT_SECURITY_POLICY
    assert "frame-ancestors 'none'" in CONTENT_SECURITY_POLICY


def test_every_page_carries_the_headers(shop: Shop) -> None:
    number = measured_job(shop)
    visitor = shop.signed_in("owner")
    parts = {"number": number, "survey": "1", "reference": "1", "instrument": "1", "person": "1"}
    for route in READABLE:
        answer = visitor.get(address_of(route, **parts))
        assert answer.status_code in (200, 303, 404), route.name
        check(answer)
        assert answer.headers["cache-control"] == "no-store"


@pytest.mark.parametrize(
    ("method", "path", "status"),
    [
        ("GET", "/no-such-page", 404),
        ("GET", "/static/0000000000000000/app.css", 404),
        ("GET", "/static/../app/main.py", 404),
        ("GET", "/jobs/..%2f..%2fetc", 404),
        ("GET", "/docs", 404),
        ("GET", "/redoc", 404),
        ("GET", "/openapi.json", 404),
        ("DELETE", "/sign-in", 405),
        ("POST", "/sign-in", 401),
        ("GET", "/", 303),
        ("GET", "/people", 303),
        ("POST", "/people", 401),
        ("GET", "/api/v1/jobs", 401),
        ("GET", "/api/v1/no-such-thing", 404),
    ],
)
def test_refusals_carry_the_headers(shop: Shop, method: str, path: str, status: int) -> None:
    answer = shop.visitor().ask(method, path, data={}, headers={"Origin": ORIGIN})
    assert answer.status_code == status
    check(answer)


def test_too_large_a_body_and_another_host_carry_the_headers(shop: Shop) -> None:
    headers = {"Origin": ORIGIN}
    large = shop.visitor().ask("POST", "/sign-in", content=b"a" * 300_000, headers=headers)
    elsewhere = shop.visitor().ask("GET", "/", headers={"Host": "elsewhere.example"})
    assert (large.status_code, elsewhere.status_code) == (413, 400)
    check(large)
    check(elsewhere)


def test_a_foreign_origin_is_given_nothing(shop: Shop) -> None:
    headers = {"Origin": "http://evil.example"}
    check(shop.visitor().ask("GET", "/sign-in", headers=headers))


def test_style_sheets_are_kept_for_a_year_and_pages_are_not(shop: Shop) -> None:
    visitor = shop.visitor()
    page = visitor.get("/sign-in")
    sheet = page.text.partition('rel="stylesheet" href="')[2].partition('"')[0]
    answer = visitor.get(sheet)
    assert answer.status_code == 200
    assert answer.headers["content-type"] == "text/css; charset=utf-8"
    assert answer.headers["cache-control"] == "public, max-age=31536000, immutable"
    check(answer)


def test_the_icon_is_there_also_where_browsers_look_by_themselves(shop: Shop) -> None:
    answer = shop.visitor().get("/favicon.ico")
    assert answer.status_code == 200
    assert answer.headers["content-type"] == "image/svg+xml"


def test_strict_transport_is_asked_for_under_tls_only(
    shop: Shop, database: Database, tmp_path: Path
) -> None:
    name = "strict-transport-security"
    assert name not in shop.visitor().get("/sign-in").headers
    behind = open_shop(database, shop.people, tmp_path, public_url="https://jigs.example.org")
    visitor = Visitor(behind.app, "https://jigs.example.org")
    assert visitor.get("/sign-in").headers[name] == "max-age=31536000"
    assert visitor.get("/no-such-page").headers[name] == "max-age=31536000"
