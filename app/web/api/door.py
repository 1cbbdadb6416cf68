"""The door for programs: JSON under `/api/v1`, let in by a bearer token, never by a cookie."""

from collections.abc import Callable
from typing import Any

from fastapi import Request

from app.errors import NotSignedIn
from app.records.session import Database
from app.services import tokens
from app.services.permissions import Actor, require
from app.web.database import Records
from app.web.routes import OPEN, Door

PREFIX = "/api/v1"
SCHEME = "bearer"


def admit(action: str) -> Callable[..., Any]:
    """The dependency that lets a request pass to a route of the API: the right token.

    It runs before the body is looked at and before the route opens a transaction.
    """

    def let_in(request: Request, database: Records) -> None:
        if action == OPEN:
            return
        actor = bearer(request, database)
        require(actor, action)
        request.state.actor = actor

    return let_in


def bearer(request: Request, database: Database) -> Actor:
    """Whose token came with the request. Raises NotSignedIn."""
    token = token_in(request)
    now = request.app.state.clock()
    with database.read() as session:
        holder = tokens.identify(session, token, now)
    if holder.needs_touch:
        with database.write() as session:
            tokens.touch(session, holder.actor, now)
    return holder.actor


def token_in(request: Request) -> str:
    """The token that came with the request, whosever it is. Raises NotSignedIn."""
    scheme, _, token = request.headers.get("authorization", "").partition(" ")
    if scheme.lower() != SCHEME or not token.strip():
        raise NotSignedIn("token_missing")
    return token.strip()


api = Door("api", admit, PREFIX)
