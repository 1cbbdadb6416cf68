"""Which hosts are ours and which requests may write."""

from pathlib import Path

import pytest
from starlette.datastructures import Headers

from app.settings import Settings
from app.web.origins import Origins, configured_origins, host_name


def origins(public_url: str | None = None) -> Origins:
    settings = Settings(Path("data"), "sqlite:///data/x", port=8417, public_url=public_url)
    return configured_origins(settings)


OWN = "http://127.0.0.1:8417"

MATRIX = [
    ({"sec-fetch-site": "same-origin", "origin": OWN}, True),
    ({"sec-fetch-site": "same-origin"}, True),
    ({"origin": OWN}, True),
    ({"sec-fetch-site": "cross-site", "origin": OWN}, False),
    ({"sec-fetch-site": "same-site"}, False),
    ({"sec-fetch-site": "none"}, False),
    ({"origin": "null"}, False),
    ({"origin": "http://evil.example"}, False),
    ({}, False),
]
"""The nine combinations of the two headers that browsers send, and whether they may write."""


@pytest.mark.parametrize(("headers", "admitted"), MATRIX)
def test_only_our_own_pages_may_write(headers: dict[str, str], admitted: bool) -> None:
    assert origins().admits("POST", Headers(headers)) is admitted


@pytest.mark.parametrize(("headers", "admitted"), MATRIX)
def test_reading_is_never_refused_for_its_origin(headers: dict[str, str], admitted: bool) -> None:
    assert origins().admits("GET", Headers(headers))


def test_a_same_origin_mark_does_not_excuse_a_foreign_origin() -> None:
    headers = Headers({"sec-fetch-site": "same-origin", "origin": "http://evil.example"})
    assert not origins().admits("POST", headers)


def test_two_origins_are_none() -> None:
    raw = [(b"origin", OWN.encode()), (b"origin", b"http://evil.example")]
    assert not origins().admits("POST", Headers(raw=raw))


@pytest.mark.parametrize("host", ["127.0.0.1:8417", "localhost", "LOCALHOST:1", "[::1]:8417"])
def test_this_machine_is_served(host: str) -> None:
    assert origins().serves(Headers({"host": host}))


@pytest.mark.parametrize(
    "host", ["evil.example", "127.0.0.1.evil.example", "", "localhost@evil.example", "localhost:x"]
)
def test_another_host_is_not_served(host: str) -> None:
    assert not origins().serves(Headers({"host": host}))


def test_a_request_must_name_exactly_one_host() -> None:
    raw = [(b"host", b"localhost"), (b"host", b"localhost")]
    assert not origins().serves(Headers({}))
    assert not origins().serves(Headers(raw=raw))


def test_a_public_address_by_https_is_secure_and_this_machine_by_http_is_not() -> None:
    ours = origins("https://jigs.example.org")
    behind = {"type": "http", "scheme": "http", "headers": [(b"host", b"jigs.example.org")]}
    local = {"type": "http", "scheme": "http", "headers": [(b"host", b"127.0.0.1:8417")]}
    direct = {"type": "http", "scheme": "https", "headers": [(b"host", b"127.0.0.1:8417")]}
    assert ours.is_secure(behind)
    assert not ours.is_secure(local)
    assert ours.is_secure(direct)


def test_a_public_address_by_plain_http_is_not_secure() -> None:
    ours = origins("http://jigs.example.org")
    behind = {"type": "http", "scheme": "http", "headers": [(b"host", b"jigs.example.org")]}
    assert not ours.is_secure(behind)


def test_host_name_keeps_brackets_and_drops_the_port() -> None:
    assert host_name("[::1]:80") == "[::1]"
    assert host_name("Shop.local:8417") == "shop.local"
    assert host_name("a b") is None
