"""What the server bears of its clients: silence, dripping headers, invented addresses, crowds."""

import asyncio
from typing import Any

import pytest
import uvicorn
from uvicorn.server import ServerState

from app.cli import server
from app.cli.connection import TimedConnection
from app.cli.server import MOST_CONNECTIONS, configuration
from app.errors import BadInput
from app.settings import Settings, read_settings


class Hasty(TimedConnection):
    headers_s = 0.3


async def answer(scope: Any, receive: Any, send: Any) -> None:
    await send({"type": "http.response.start", "status": 204, "headers": []})
    await send({"type": "http.response.body"})


async def talk(*pieces: bytes, pause_s: float = 0.0) -> tuple[bytes, float]:
    """What came back until the server closed, and how long it took."""
    config = uvicorn.Config(answer, http=Hasty, ws="none", log_config=None, timeout_keep_alive=1)
    config.load()
    loop, state = asyncio.get_running_loop(), ServerState()
    served = await loop.create_server(lambda: Hasty(config, state, {}), "127.0.0.1", 0)
    port = served.sockets[0].getsockname()[1]
    reader, writer = await asyncio.open_connection("127.0.0.1", port)
    start = loop.time()
    try:
        for piece in pieces:
            writer.write(piece)
            await asyncio.sleep(pause_s)
        async with asyncio.timeout(5.0):
            return await reader.read(), loop.time() - start
    except ConnectionError:
        return b"", loop.time() - start
    finally:
        writer.close()
        served.close()


def test_who_connects_and_says_nothing_is_let_go() -> None:
    said, seconds = asyncio.run(talk())
    assert said == b""
    assert 0.2 < seconds < 2.0


def test_headers_that_drip_do_not_keep_the_place() -> None:
    pieces = (b"GET / HTTP/1.1\r\n", *(b"X-A: b\r\n" for _ in range(8)))
    said, seconds = asyncio.run(talk(*pieces, pause_s=0.1))
    assert said == b""
    assert seconds < 2.0


def test_a_request_in_time_is_answered() -> None:
    pieces = (b"GET / HTTP/1.1\r\nHost: a\r\n", b"Connection: close\r\n\r\n")
    said, _seconds = asyncio.run(talk(*pieces, pause_s=0.1))
    assert said.startswith(b"HTTP/1.1 204")


def settings(**environment: str) -> Settings:
    return read_settings({"JIGBOOK_PUBLIC_URL": "https://jigs.example.org", **environment})


def client_seen(configured: Settings, forwarded: str, monkeypatch: pytest.MonkeyPatch) -> str:
    """Which address the app takes a request for that came through this machine."""
    seen: list[str] = []

    async def app(scope: Any, receive: Any, send: Any) -> None:
        seen.append(scope["client"][0])

    monkeypatch.setattr(server, "create_app", lambda settings: app)
    served: Any = configuration(configured).loaded_app
    scope = {
        "type": "http",
        "client": ("127.0.0.1", 5000),
        "headers": [(b"x-forwarded-for", forwarded.encode())],
        "scheme": "http",
    }
    asyncio.run(served(scope, None, None))
    return seen[0]


def test_nobody_invents_an_address_while_no_proxy_is_named(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Else each try to sign in could come from another one, and none would be slowed down."""
    seen = {client_seen(settings(), f"203.0.113.{n}", monkeypatch) for n in range(3)}
    assert seen == {"127.0.0.1"}


def test_of_several_addresses_the_proxys_own_word_counts(monkeypatch: pytest.MonkeyPatch) -> None:
    named = settings(JIGBOOK_PROXY="127.0.0.1, 192.0.2.0/24")
    assert client_seen(named, "198.51.100.1, 203.0.113.9", monkeypatch) == "203.0.113.9"
    assert client_seen(named, "198.51.100.1, 203.0.113.9, 192.0.2.4", monkeypatch) == "203.0.113.9"


@pytest.mark.parametrize("named", ["*", "proxy.example", "127.0.0.1, x", "192.0.2.1/24"])
def test_what_is_no_address_is_refused(named: str) -> None:
    with pytest.raises(BadInput) as refused:
        settings(JIGBOOK_PROXY=named)
    assert refused.value.problems[0].code == "not_a_proxy"


def test_there_is_a_limit_to_connections(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(server, "create_app", lambda settings: answer)
    config = configuration(settings())
    assert config.limit_concurrency == MOST_CONNECTIONS
    assert config.http_protocol_class is TimedConnection
