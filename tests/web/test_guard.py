"""The wall round the app: origin, host, form token, size. Each has a test that fails without it."""

import asyncio
import re
from collections.abc import AsyncIterator
from typing import Any

import httpx
import pytest

from app.web.body import (
    SLOWEST_BYTES_PER_S,
    Limits,
    TooLarge,
    TooSlow,
    read_whole,
    thrown_away,
)
from app.web.guard import MOST_LARGE, Guard
from app.web.large_bodies import route_of
from app.web.origins import SAFE_METHODS
from app.web.problems import status_of
from app.web.routes import OPEN, ROUTES, Route
from tests.web.routes import address_of
from tests.web.shop import ORIGIN, Shop, Visitor
from tests.web.test_origins import MATRIX

UNSAFE = [
    route for route in ROUTES.values() if route.door == "pages" and route.method not in SAFE_METHODS
]
OVER = Limits().ordinary + 1


def test_there_are_routes_that_write() -> None:
    assert len(UNSAFE) > 20


@pytest.mark.parametrize(("headers", "admitted"), MATRIX)
def test_no_route_takes_a_form_from_another_site(
    shop: Shop, headers: dict[str, str], admitted: bool
) -> None:
    """Every writing route with the owner's cookie and token: only the headers differ."""
    visitor = shop.signed_in("owner")
    data = {"form_token": visitor.token()}
    before = shop.digest()
    told = {}
    for route in UNSAFE:
        if route.name == "sign_out" and admitted:
            continue
        answer = visitor.ask("POST", address_of(route), data=data, headers=headers)
        told[route.name] = answer.status_code
        if not admitted:
            assert "came from another site" in answer.text
    if admitted:
        assert 403 not in told.values(), told
    else:
        assert set(told.values()) == {403}
        assert shop.digest() == before


def test_the_origin_is_compared_with_the_configured_hosts_and_not_with_the_host_header(
    shop: Shop,
) -> None:
    """A foreign name that resolves to this machine makes Origin and Host agree with each other."""
    headers = {"Host": "rebound.example:8417", "Origin": "http://rebound.example:8417"}
    answer = shop.visitor().ask("POST", "/sign-in", data={}, headers=headers)
    assert answer.status_code == 400
    assert "rebound" not in answer.text


@pytest.mark.parametrize("host", ["rebound.example", "127.0.0.1.example", "evil@localhost"])
def test_a_request_for_another_host_is_refused(shop: Shop, host: str) -> None:
    answer = shop.visitor().ask("GET", "/sign-in", headers={"Host": host})
    assert answer.status_code == 400


def test_an_api_request_for_another_host_is_refused_as_problem_details(shop: Shop) -> None:
    answer = shop.visitor().ask("GET", "/api/v1/health", headers={"Host": "rebound.example"})
    assert answer.status_code == 400
    assert answer.headers["content-type"] == "application/problem+json"


@pytest.mark.parametrize("token", ["", "0" * 64, "of-another-session"])
def test_no_route_takes_a_form_without_the_sessions_own_token(shop: Shop, token: str) -> None:
    visitor = shop.signed_in("owner")
    if token == "of-another-session":
        token = shop.signed_in("owner").token()
    before = shop.digest()
    for route in UNSAFE:
        if route.action == OPEN:
            continue
        answer = visitor.ask(
            "POST", address_of(route), data={"form_token": token}, headers={"Origin": ORIGIN}
        )
        assert answer.status_code == 403, route.name
        assert "too old, or not yours" in answer.text
    assert shop.digest() == before


def test_an_authorization_header_opens_no_page(shop: Shop) -> None:
    """Only the API's door reads bearer tokens; the origin of a form is asked for all the same."""
    visitor = shop.signed_in("desk")
    headers = {"Authorization": "Bearer anything"}
    answer = visitor.ask("POST", "/sign-out", data={}, headers=headers)
    assert answer.status_code == 403


def test_the_api_reads_no_cookie(shop: Shop) -> None:
    answer = shop.signed_in("owner").ask("GET", "/api/v1/jobs")
    assert answer.status_code == 401


@pytest.mark.parametrize("path", ["/sign-in", "/check-in/known", "/no-such-page", "/people"])
def test_a_body_over_the_limit_is_refused_before_anything_reads_it(shop: Shop, path: str) -> None:
    visitor = shop.signed_in("owner")
    before = shop.digest()
    answer = visitor.ask("POST", path, content=b"a" * OVER, headers={"Origin": ORIGIN})
    assert answer.status_code == 413
    assert shop.digest() == before


def test_a_body_sent_in_pieces_is_counted_too(shop: Shop) -> None:
    async def pieces() -> AsyncIterator[bytes]:
        for _piece in range(5):
            yield b"a" * (OVER // 4)

    async def send() -> httpx.Response:
        transport = httpx.ASGITransport(shop.app, raise_app_exceptions=False)
        async with httpx.AsyncClient(transport=transport, base_url=ORIGIN) as client:
            headers = {"Origin": ORIGIN}
            return await client.post("/sign-in", content=pieces(), headers=headers)

    assert asyncio.run(send()).status_code == 413


def test_a_stated_length_over_the_limit_is_refused_without_reading() -> None:
    async def receive() -> dict[str, Any]:
        raise AssertionError("the body was read")

    scope = {"type": "http", "path": "/", "headers": [(b"content-length", b"300000")]}
    with pytest.raises(TooLarge):
        asyncio.run(read_whole(scope, receive, 262_144))


def test_a_body_that_drips_is_given_up() -> None:
    async def receive() -> dict[str, Any]:
        await asyncio.sleep(0.02)
        return {"type": "http.request", "body": b"a", "more_body": True}

    scope = {"type": "http", "path": "/", "headers": [(b"content-length", b"2000")]}
    with pytest.raises(TooSlow) as refused:
        asyncio.run(read_whole(scope, receive, 262_144, patience_s=0.1))
    assert status_of(refused.value) == 408


def test_a_large_body_has_more_time_than_a_small_one() -> None:
    """Ten megabytes over a slow line take longer than half a minute."""
    assert Limits().of("/verify") / SLOWEST_BYTES_PER_S > 60


def test_what_is_turned_away_unread_ends_its_connection(shop: Shop) -> None:
    large = shop.visitor().ask("POST", "/sign-in", content=b"a" * OVER, headers={"Origin": ORIGIN})
    assert large.headers["connection"] == "close"
    assert "connection" not in shop.visitor().get("/sign-in").headers


def test_only_so_many_large_bodies_are_taken_in_at_once(shop: Shop) -> None:
    assert isinstance(shop.app, Guard)
    visitor, headers = shop.visitor(), {"Origin": ORIGIN}
    shop.app.large = MOST_LARGE
    refused = visitor.ask("POST", "/verify", content=b"a" * OVER, headers=headers)
    assert (refused.status_code, refused.headers["retry-after"]) == (503, "10")
    assert visitor.get("/sign-in").status_code == 200, "pages go on"
    assert shop.app.large == MOST_LARGE
    shop.app.large = 0
    taken = visitor.ask("POST", "/verify", content=b"a" * OVER, headers=headers)
    assert taken.status_code == 422
    assert shop.app.large == 0


def test_files_may_be_larger_than_forms() -> None:
    limits = Limits()
    assert limits.of("/jobs/J-2026-0001/surveys") > limits.of("/sign-in")
    assert limits.of("/verify") > limits.of("/jobs/J-2026-0001/surveys")


def test_too_many_fields_are_refused(shop: Shop) -> None:
    body = "&".join(f"f{i}=" for i in range(3000)).encode()
    headers = {"Origin": ORIGIN, "Content-Type": "application/x-www-form-urlencoded"}
    answer = shop.visitor().ask("POST", "/sign-in", content=body, headers=headers)
    assert answer.status_code == 400


def test_a_web_socket_is_closed(shop: Shop) -> None:
    sent: list[Any] = []

    async def receive() -> dict[str, Any]:
        return {"type": "websocket.connect"}

    async def send(message: Any) -> None:
        sent.append(message)

    async def open_socket() -> None:
        await shop.app({"type": "websocket", "path": "/", "headers": []}, receive, send)

    asyncio.run(open_socket())
    assert sent == [{"type": "websocket.close", "code": 1008}]


def test_every_page_route_is_named_once_and_needs_a_known_action() -> None:
    for name, route in ROUTES.items():
        assert route.name == name
        assert isinstance(route, Route)


PHOTOS = "/jobs/J-2026-0001/photos"


def test_who_may_send_a_large_body_is_asked_before_it_is_taken_in(shop: Shop) -> None:
    """With no place left for large bodies: what is refused for its sender never asks for one."""
    assert isinstance(shop.app, Guard)
    shop.app.large = MOST_LARGE
    body, headers = b"a" * OVER, {"Origin": ORIGIN, "Content-Type": "image/jpeg"}

    def status(visitor: Visitor, path: str, method: str = "POST") -> int:
        return visitor.ask(method, path, content=body, headers=headers).status_code

    stranger = shop.visitor()
    assert status(stranger, PHOTOS) == 401
    assert status(stranger, f"/api/v1{PHOTOS}") == 401
    assert status(stranger, f"{PHOTOS}/nowhere/at/all") == 404
    assert status(shop.signed_in("technician"), "/check-in") == 403
    assert status(shop.signed_in("technician"), PHOTOS) == 503
    assert status(stranger, "/verify") == 503
    assert shop.app.large == MOST_LARGE
    shop.app.large = 0
    told = stranger.ask("POST", PHOTOS, content=body, headers=headers)
    assert "Sign in first" in told.text


def test_what_is_thrown_away_is_bounded_too() -> None:
    async def endless() -> dict[str, Any]:
        return {"type": "http.request", "body": b"a" * 1000, "more_body": True}

    with pytest.raises(TooLarge):
        asyncio.run(thrown_away({"type": "http", "headers": []}, endless, 10_000))

    async def dripping() -> dict[str, Any]:
        await asyncio.sleep(0.02)
        return {"type": "http.request", "body": b"", "more_body": True}

    scope = {"type": "http", "headers": [(b"content-length", b"2000")]}
    with pytest.raises(TooSlow):
        asyncio.run(thrown_away(scope, dripping, 10_000, patience_s=0.1))


def test_every_route_is_found_by_its_own_address() -> None:
    for route in ROUTES.values():
        found = route_of(route.method, re.sub(r"\{\w+\}", "7", route.path))
        assert found is not None
        assert found.action == route.action, route.path
