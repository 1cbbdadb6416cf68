"""How large a request may be, and reading it whole before anything acts on it."""

from dataclasses import dataclass

from starlette.datastructures import Headers
from starlette.types import Message, Receive, Scope

from app.errors import BadInput, Problem

KILOBYTE = 1024
MEGABYTE = 1024 * KILOBYTE


class TooLarge(BadInput):
    """The body of the request is larger than its route takes."""

    def __init__(self, limit_bytes: int) -> None:
        facts = {"limit": limit_bytes}
        super().__init__([Problem("body_too_large", "body", facts)], code="body_too_large")


@dataclass(frozen=True, slots=True)
class Limits:
    """Largest bodies in bytes: one for all, others for the paths that take files."""

    ordinary: int = 256 * KILOBYTE
    larger: tuple[tuple[str, int], ...] = (
        ("/api/v1/certificates/verify", 10 * MEGABYTE),
        ("/verify", 10 * MEGABYTE),
        ("/api/", 2 * MEGABYTE),
        ("/jobs/", 2 * MEGABYTE),
        ("/references", 2 * MEGABYTE),
    )

    def of(self, path: str) -> int:
        """The limit of a path: the first entry whose text it starts with."""
        return next((size for start, size in self.larger if path.startswith(start)), self.ordinary)


async def read_whole(scope: Scope, receive: Receive, limit: int) -> Receive:
    """A `receive` that hands out the whole body at once.

    Raises TooLarge before a byte of it has reached the app: what is refused never half runs.
    """
    stated = Headers(scope=scope).get("content-length", "")
    if stated.isdecimal() and int(stated) > limit:
        raise TooLarge(limit)
    chunks: list[bytes] = []
    size, more = 0, True
    while more:
        message = await receive()
        if message["type"] != "http.request":
            return handing_out(message, receive)
        chunks.append(message.get("body", b""))
        size += len(chunks[-1])
        if size > limit:
            raise TooLarge(limit)
        more = message.get("more_body", False)
    return handing_out({"type": "http.request", "body": b"".join(chunks)}, receive)


def handing_out(first: Message, receive: Receive) -> Receive:
    """A `receive` that gives one message, then what else comes."""
    waiting = [first]

    async def receive_next() -> Message:
        return waiting.pop() if waiting else await receive()

    return receive_next
