"""Who makes this request: read from the session's cookie once, before the route's own work."""

from collections.abc import Callable, Coroutine
from dataclasses import dataclass
from datetime import datetime
from typing import Annotated, Any

from fastapi import Depends, Request
from sqlalchemy.orm import Session

from app.errors import NotSignedIn
from app.records.session import Database
from app.services import sessions, shop
from app.services.permissions import Actor, require
from app.services.sessions import CurrentSession
from app.web.cookies import session_secret
from app.web.database import Records
from app.web.form_token import FIELD, check_form_token
from app.web.forms import read_form
from app.web.origins import SAFE_METHODS
from app.web.routes import OPEN


@dataclass(frozen=True, slots=True)
class Visit:
    """Who asks, when, and from where."""

    now: datetime
    address: str
    shop: str
    secret: str | None = None
    session: CurrentSession | None = None

    @property
    def actor(self) -> Actor | None:
        """The person that is signed in, if any."""
        return self.session.actor if self.session else None

    @property
    def person(self) -> Actor:
        """The person that is signed in. Raises NotSignedIn when nobody is."""
        if self.session is None:
            raise NotSignedIn("not_signed_in")
        return self.session.actor


def here(request: Request, database: Records) -> Visit:
    """The visit of this request. A session that is over is as good as none."""
    visit = visited(request, database)
    request.state.visit = visit
    return visit


def stranger(request: Request) -> Visit:
    """The visit as far as it is known, without asking the records: they may be what broke."""
    known = getattr(request.state, "visit", None)
    return known if isinstance(known, Visit) else Visit(request.app.state.clock(), "", "")


def visited(request: Request, database: Database) -> Visit:
    """Who the session's cookie says it is."""
    now = request.app.state.clock()
    address = request.client.host if request.client else ""
    secret = session_secret(request)
    with database.read() as session:
        found = resumed(session, secret, now) if secret else None
        if found is None:
            return Visit(now, address, shop.name(session))
    if found.needs_touch:
        note_use(database, found, now)
    return Visit(now, address, found.shop, secret, found)


Here = Annotated[Visit, Depends(here, scope="function")]


def resumed(session: Session, secret: str, now: datetime) -> CurrentSession | None:
    """The session of a cookie's secret; None when it is unknown or over."""
    try:
        return sessions.resume(session, secret, now)
    except NotSignedIn:
        return None


def note_use(database: Database, found: CurrentSession, now: datetime) -> None:
    """Write down that the session is in use, in a short unit before the request's own."""
    with database.write() as session:
        sessions.touch(session, found.actor, found.session_id, now)


Admission = Callable[..., Coroutine[Any, Any, None]]


def admit(action: str) -> Admission:
    """The dependency that lets a request pass to a page: the right person, the right form.

    It runs before anything else of the route: who may not come in never opens a transaction.
    """

    async def let_in(request: Request, visit: Here) -> None:
        if action == OPEN:
            return
        require(visit.person, action)
        if request.method not in SAFE_METHODS:
            form = await read_form(request)
            check_form_token(visit.secret or "", form.exact(FIELD))

    return let_in
