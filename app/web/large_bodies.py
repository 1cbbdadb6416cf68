"""Who may send a large body is asked before it is taken in.

A body is read whole before the app runs, and then lies in memory: that is done for nobody who
could not go on anyway. The routes themselves ask again, as for every other request.
"""

import re
from functools import lru_cache

import anyio.to_thread
from fastapi import FastAPI, Request
from starlette.types import Scope

from app.errors import NotFound
from app.services.permissions import require
from app.web.api.door import bearer
from app.web.database import database
from app.web.guard import Admit
from app.web.routes import OPEN, ROUTES, Route
from app.web.visits import seen


def admitting(app: FastAPI) -> Admit:
    """Raises what the route of a request would: NotSignedIn, NotAllowed, and NotFound where there
    is no such route."""

    async def admit(scope: Scope) -> None:
        route = route_of(scope["method"], scope["path"])
        if route is None:
            raise NotFound("no_such_page")
        if route.action != OPEN:
            request = Request({**scope, "app": app})
            await anyio.to_thread.run_sync(ask, request, route)

    return admit


def ask(request: Request, route: Route) -> None:
    """Raises unless whoever asks may use the route."""
    if route.door == "api":
        require(bearer(request, database(request)), route.action)
        return
    with database(request).read() as session:
        require(seen(request, session).person, route.action)


def route_of(method: str, path: str) -> Route | None:
    """The route that answers this method on this path."""
    return next((route for route, made in _patterns(method) if made.fullmatch(path)), None)


@lru_cache(maxsize=8)
def _patterns(method: str) -> tuple[tuple[Route, re.Pattern[str]], ...]:
    return tuple(
        (route, re.compile(re.sub(r"\{[^}]+\}", "[^/]+", route.path)))
        for route in ROUTES.values()
        if route.method == method
    )
