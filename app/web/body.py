"""How large a request may be and how long it may take; it is read whole before anything acts."""

import asyncio
from dataclasses import dataclass

from starlette.datastructures import Headers
from starlette.types import Message, Receive, Scope

from app.errors import BadInput, Problem

KILOBYTE = 1024
MEGABYTE = 1024 * KILOBYTE
PATIENCE_S = 30.0
SLOWEST_BYTES_PER_S = 100 * KILOBYTE
"""Beyond the first seconds a body must come at least this fast, so that none keeps its place."""


class TooLarge(BadInput):
    """The body of the request is larger than its route takes."""

    def __init__(self, limit_bytes: int) -> None:
        facts = {"limit": limit_bytes}
        super().__init__([Problem("body_too_large", "body", facts)], code="body_too_large")


class TooSlow(BadInput):
    """The body of the request did not come in time."""

    def __init__(self, seconds: float) -> None:
        facts = {"limit_s": round(seconds)}
        super().__init__([Problem("body_too_slow", "body", facts)], code="body_too_slow")


@dataclass(frozen=True, slots=True)
class Limits:
    """Largest bodies in bytes: one for all, others for the paths that take files."""

    ordinary: int = 256 * KILOBYTE
    larger: tuple[tuple[str, int], ...] = (
        # A few photos of a telephone; the script and the JSON API send one at a time.
        ("/jobs/*/photos", 24 * MEGABYTE),
        ("/jobs/*/visual-check/", 24 * MEGABYTE),
        ("/check-in/", 256 * KILOBYTE),
        ("/check-in", 24 * MEGABYTE),
        ("/api/v1/jobs/*/photos", 16 * MEGABYTE),
        ("/api/v1/certificates/verify", 10 * MEGABYTE),
        ("/verify", 10 * MEGABYTE),
        ("/api/", 2 * MEGABYTE),
        ("/jobs/", 2 * MEGABYTE),
        ("/references", 2 * MEGABYTE),
    )

    def of(self, path: str) -> int:
        """The limit of a path: the first entry that it begins with, `*` being any one part."""
        return next((size for start, size in self.larger if begins(path, start)), self.ordinary)

    def is_large(self, scope: Scope) -> bool:
        """Whether more than an ordinary form may come, by what the request says of itself."""
        headers = Headers(scope=scope)
        if "transfer-encoding" in headers:
            return self.of(scope["path"]) > self.ordinary
        return stated_length(headers) > self.ordinary


def begins(path: str, start: str) -> bool:
    """Whether the path begins with these parts, `*` standing for any one of them."""
    if "*" not in start:
        return path.startswith(start)
    before, after = start.split("*", 1)
    if not path.startswith(before):
        return False
    part, slash, rest = path.removeprefix(before).partition("/")
    return bool(part) and f"{slash}{rest}".startswith(after)


def stated_length(headers: Headers) -> int:
    """The length that the request states; 0 when it states none."""
    stated = headers.get("content-length", "")
    return int(stated) if stated.isdecimal() and len(stated) < 20 else 0


async def read_whole(
    scope: Scope, receive: Receive, limit: int, patience_s: float = PATIENCE_S
) -> Receive:
    """A `receive` that hands out the whole body at once.

    Raises TooLarge or TooSlow before a byte of it has reached the app: what is refused never
    half runs.
    """
    stated = stated_length(Headers(scope=scope))
    if stated > limit:
        raise TooLarge(limit)
    longest_s = patience_s + (stated or limit) / SLOWEST_BYTES_PER_S
    try:
        async with asyncio.timeout(longest_s):
            return await whole(receive, limit)
    except TimeoutError:
        raise TooSlow(longest_s) from None


async def thrown_away(
    scope: Scope, receive: Receive, limit: int, patience_s: float = PATIENCE_S
) -> None:
    """Listens to a body without keeping any of it: browsers hear no answer before they have sent
    all. Raises TooLarge or TooSlow as `read_whole` does."""
    stated = stated_length(Headers(scope=scope))
    if stated > limit:
        raise TooLarge(limit)
    longest_s = patience_s + (stated or limit) / SLOWEST_BYTES_PER_S
    size, more = 0, True
    try:
        async with asyncio.timeout(longest_s):
            while more:
                message = await receive()
                size += len(message.get("body", b""))
                if size > limit:
                    raise TooLarge(limit)
                more = message["type"] == "http.request" and message.get("more_body", False)
    except TimeoutError:
        raise TooSlow(longest_s) from None


async def whole(receive: Receive, limit: int) -> Receive:
    """The body put together, however long it takes."""
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
