"""The wall round the whole app, outside of all its error handling.

It stands outside so that what the framework answers by itself (an unknown path, a crash) goes
through the same gate as every page.
"""

import logging
from collections.abc import Awaitable, Callable

from starlette.datastructures import Headers
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from app.errors import BadInput, JigbookError, NotAllowed, Problem, Unavailable
from app.web.body import Limits, read_whole, thrown_away
from app.web.headers import closing, guarded
from app.web.origins import Origins

Refuse = Callable[[Scope, JigbookError], ASGIApp]
Admit = Callable[[Scope], Awaitable[None]]
API = "/api/"
MOST_LARGE = 10
"""Requests with more than an ordinary form in them at once: all their bodies lie in memory."""

log = logging.getLogger(__name__)


class Guard:
    """Pure ASGI: host, origin and size are checked before the app, headers are set after it."""

    def __init__(
        self, app: ASGIApp, origins: Origins, limits: Limits, refuse: Refuse, admit: Admit
    ) -> None:
        self.app = app
        self.origins = origins
        self.limits = limits
        self.refuse = refuse
        self.admit = admit
        self.large = 0

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
        elif scope["type"] == "http":
            await self.answer(scope, receive, send)
        else:
            await send({"type": "websocket.close", "code": 1008})

    async def answer(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request: refused here, or let in."""
        over_tls = self.origins.is_secure(scope)
        scope.setdefault("state", {})["over_tls"] = over_tls
        sent = Started(guarded(send, scope["path"], over_tls=over_tls))
        large = self.limits.is_large(scope)
        try:
            self.check(scope)
            if large:
                await self.ask_first(scope, receive)
        except JigbookError as error:
            await self.turn_away(scope, error, receive, sent)
            return
        self.large += large
        try:
            await self.let_in(scope, receive, sent)
        finally:
            self.large -= large

    async def ask_first(self, scope: Scope, receive: Receive) -> None:
        """Raises unless whoever sends a large body may; what they send is then not kept."""
        try:
            await self.admit(scope)
        except JigbookError:
            await thrown_away(scope, receive, self.limits.of(scope["path"]))
            raise

    async def turn_away(
        self, scope: Scope, error: JigbookError, receive: Receive, sent: "Started"
    ) -> None:
        """What was not read may go on coming for ever: the connection ends here."""
        await self.refuse(scope, error)(scope, receive, closing(sent))

    async def let_in(self, scope: Scope, receive: Receive, sent: "Started") -> None:
        """Hand the request on with its body read whole, or turn it away."""
        try:
            if self.large > MOST_LARGE and self.limits.is_large(scope):
                raise Unavailable("too_busy", None, retry_after_s=10)
            receive = await read_whole(scope, receive, self.limits.of(scope["path"]))
        except JigbookError as error:
            await self.turn_away(scope, error, receive, sent)
            return
        await self.run(scope, receive, sent)

    def check(self, scope: Scope) -> None:
        """Raise unless the request names our host and, if it writes, comes from our own page.

        The API is left out of the second: it takes a bearer token that no browser adds by
        itself, and it never reads a cookie.
        """
        headers = Headers(scope=scope)
        if not self.origins.serves(headers):
            raise BadInput([Problem("host_not_served", "host")], code="host_not_served")
        if scope["path"].startswith(API):
            return
        if not self.origins.admits(scope["method"], headers):
            raise NotAllowed("form_from_elsewhere")

    async def run(self, scope: Scope, receive: Receive, sent: "Started") -> None:
        """Call the app; a crash that it did not answer itself gets a bare answer from here."""
        try:
            await self.app(scope, receive, sent)
        except Exception:
            # The app's own handler has logged it and answered with a number to quote; what
            # arrives here unanswered means that this handler itself broke.
            if not sent.started:
                log.exception("no answer was made for %s", scope["method"])
                await PlainTextResponse("500", status_code=500)(scope, receive, sent)


class Started:
    """A `send` that remembers whether the answer has begun."""

    def __init__(self, send: Callable[[Message], Awaitable[None]]) -> None:
        self.send = send
        self.started = False

    async def __call__(self, message: Message) -> None:
        self.started = True
        await self.send(message)
