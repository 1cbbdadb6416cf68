"""Runs the web app: one process, one address, a plain word when the address is taken."""

import dataclasses
import signal
import socket
import ssl
from collections.abc import Callable
from types import FrameType

import uvicorn

from app.cli.access_log import LOGGING
from app.cli.connection import TimedConnection
from app.errors import BadInput, Problem, Unavailable
from app.main import create_app
from app.settings import Settings

SECONDS_TO_FINISH = 10
"""How long open requests may go on after the server was told to stop."""
MOST_CONNECTIONS = 200
"""More are answered with a plain 503: a browser keeps up to six, a shop has a dozen."""


def refuse_open_plain_http(settings: Settings) -> None:
    """Raise BadInput when passwords would cross a network readable without the owner's word."""
    if settings.loopback_only or settings.tls_cert or settings.plain_http_on_lan:
        return
    facts = {"met": settings.host}
    raise BadInput([Problem("plain_http_beyond_this_machine", "host", facts)])


def listen(settings: Settings) -> tuple[socket.socket, Settings]:
    """An open socket on the address, and the settings with the port that it really has.

    Raises Unavailable when the address is taken or not this machine's.
    """
    family = socket.AF_INET6 if ":" in settings.host else socket.AF_INET
    try:
        opened = socket.create_server((settings.host, settings.port), family=family, backlog=128)
    except OSError as error:
        reason = error.strerror or str(error)
        raise Unavailable(
            "address_not_available", None, host=settings.host, port=settings.port, reason=reason
        ) from error
    # Answers leave in two pieces, head and body: without this the second waits 40 ms for a word
    # from the browser. Every connection inherits it.
    opened.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
    return opened, dataclasses.replace(settings, port=opened.getsockname()[1])


def serve(settings: Settings, greet: Callable[[Settings], None]) -> int:
    """Listen, greet with the address, answer until told to stop; 0 when all went well."""
    refuse_open_plain_http(settings)
    opened, settings = listen(settings)
    with opened:
        server = uvicorn.Server(configuration(settings))
        stop_quietly(server)
        greet(settings)
        server.run(sockets=[opened])
    return 0 if server.started else 1


def configuration(settings: Settings) -> uvicorn.Config:
    """How the server runs. Raises Unavailable when the TLS files cannot be used."""
    config = uvicorn.Config(
        create_app(settings),
        log_config=LOGGING,
        server_header=False,
        # Forwarded addresses are believed only from the proxies that the settings name, and of
        # several the last that is no proxy: else anybody could pass for another client.
        proxy_headers=bool(settings.proxies),
        forwarded_allow_ips=list(settings.proxies),
        http=TimedConnection,
        limit_concurrency=MOST_CONNECTIONS,
        ssl_certfile=settings.tls_cert,
        ssl_keyfile=settings.tls_key,
        timeout_graceful_shutdown=SECONDS_TO_FINISH,
        ws="none",
    )
    try:
        config.load()
    except (ssl.SSLError, OSError) as error:
        raise Unavailable(
            "tls_files_unusable", None, path=str(settings.tls_cert), reason=str(error)
        ) from error
    return config


def stop_quietly(server: uvicorn.Server) -> None:
    """Being told to stop is a good end, from the greeting on.

    While it runs uvicorn has handlers of its own; after its clean-up it raises the signal again,
    which by default would end the process as if it had been killed.
    """

    def stop(number: int, frame: FrameType | None) -> None:
        server.should_exit = True

    signal.signal(signal.SIGINT, stop)
    signal.signal(signal.SIGTERM, stop)
