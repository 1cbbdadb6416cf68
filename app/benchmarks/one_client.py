"""A client as small as can be, so that its own time counts little on either side."""

import socket
import time
from dataclasses import dataclass
from typing import Self
from urllib.parse import urlencode, urlsplit

FORM = "application/x-www-form-urlencoded"
AT_ONCE = 65_536


@dataclass(frozen=True, slots=True)
class Answer:
    status: int
    head: str
    body: bytes
    seconds: float
    """From the first byte sent to the last byte received."""


class Client:
    """Asks one thing after the other on a connection that stays open."""

    def __init__(self, address: str) -> None:
        there = urlsplit(address)
        self.address = address
        self.host = there.netloc
        self.cookie = ""
        self.socket = socket.create_connection((there.hostname or "", there.port or 80), 30.0)
        self.socket.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_what: object) -> None:
        self.socket.close()

    def get(self, path: str) -> Answer:
        """What stands there."""
        return self._ask(f"GET {path} HTTP/1.1", b"")

    def post(self, path: str, fields: dict[str, str], accept: str = "text/html") -> Answer:
        """Send a form, as one of our own pages does."""
        body = urlencode(fields).encode()
        more = f"Content-Type: {FORM}\r\nContent-Length: {len(body)}\r\nAccept: {accept}\r\n"
        return self._ask(f"POST {path} HTTP/1.1", body, f"Origin: {self.address}\r\n{more}")

    def _ask(self, line: str, body: bytes, more: str = "") -> Answer:
        cookie = f"Cookie: {self.cookie}\r\n" if self.cookie else ""
        asked = f"{line}\r\nHost: {self.host}\r\n{cookie}{more}\r\n".encode() + body
        start = time.perf_counter()
        self.socket.sendall(asked)
        head, content = self._received()
        seconds = time.perf_counter() - start
        return Answer(int(head.split(" ", 2)[1]), head, content, seconds)

    def _received(self) -> tuple[str, bytes]:
        got = b""
        while b"\r\n\r\n" not in got:
            got += self._some()
        head, _, content = got.partition(b"\r\n\r\n")
        text = head.decode("latin-1")
        length = int(field(text, "content-length") or 0)
        parts, still = [content], length - len(content)
        while still > 0:
            parts.append(self._some())
            still -= len(parts[-1])
        return text, b"".join(parts)

    def _some(self) -> bytes:
        """Raises RuntimeError when the server ended the connection in the middle."""
        received = self.socket.recv(AT_ONCE)
        if not received:
            raise RuntimeError("the server ended the connection")
        return received


def field(head: str, name: str) -> str | None:
    """A field of an answer's head; None where it has none of that name."""
    for line in head.split("\r\n")[1:]:
        key, _, value = line.partition(":")
        if key.lower() == name:
            return value.strip()
    return None
