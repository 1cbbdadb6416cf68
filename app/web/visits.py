"""Who makes this request: read from the session's cookie once, before the route's own work."""

import functools
import inspect
from collections.abc import Callable, Coroutine
from dataclasses import dataclass
from datetime import date, datetime
from functools import partial
from typing import Annotated, Any

from fastapi import Depends, Request
from sqlalchemy.orm import Session

from app.errors import NotSignedIn
from app.records.session import Database
from app.services import sessions, shop
from app.services.permissions import Actor, require
from app.services.sessions import CurrentSession
from app.web.cookies import session_secret
from app.web.database import Read, Records, database
from app.web.form_token import FIELD, check_form_token
from app.web.forms import read_form
from app.web.origins import SAFE_METHODS
from app.web.routes import OPEN
from app.wording import moments


@dataclass(frozen=True, slots=True)
class Visit:
    """Who asks, when, and from where."""

    now: datetime
    address: str
    shop: str
    secret: str | None = None
    session: CurrentSession | None = None
    zone: str = ""
    """The shop's time zone, in which pages tell days and times; empty: the machine's own."""

    @property
    def actor(self) -> Actor | None:
        """The person that is signed in, if any."""
        return self.session.actor if self.session else None

    @property
    def today(self) -> date:
        """The day that it is in the shop."""
        with moments.told_in(self.zone):
            return moments.today(self.now)

    @property
    def is_to_be_noted(self) -> bool:
        """The session's last use is old enough to be written down anew."""
        return self.session is not None and self.session.needs_touch

    @property
    def person(self) -> Actor:
        """The person that is signed in. Raises NotSignedIn when nobody is."""
        if self.session is None:
            raise NotSignedIn("not_signed_in")
        return self.session.actor


def here(request: Request, made_in: Records) -> Visit:
    """The visit of this request. A session that is over is as good as none."""

    def name_and_zone() -> tuple[str, str]:
        with made_in.read() as session:
            return shop.name_and_zone(session)

    visit = _met(request, partial(sessions.resume_alone, made_in), name_and_zone)
    noted(visit, made_in)
    return visit


def stranger(request: Request) -> Visit:
    """The visit as far as it is known, without asking the records: they may be what broke."""
    known = getattr(request.state, "visit", None)
    return known if isinstance(known, Visit) else Visit(request.app.state.clock(), "", "")


def seen(request: Request, session: Session) -> Visit:
    """Who the session's cookie says it is."""
    return _met(request, partial(sessions.resume, session), partial(shop.name_and_zone, session))


def _met(
    request: Request,
    resume: Callable[[str, datetime], CurrentSession],
    name_and_zone: Callable[[], tuple[str, str]],
) -> Visit:
    """resume: who sends a secret; name_and_zone: of the shop, where nobody is signed in."""
    now = request.app.state.clock()
    address = request.client.host if request.client else ""
    secret = session_secret(request)
    found = _resumed(resume, secret, now) if secret else None
    if found is None:
        name, zone = name_and_zone()
        visit = Visit(now, address, name, zone=zone)
    else:
        visit = Visit(now, address, found.shop, secret, found, found.zone)
    request.state.visit = visit
    return visit


def noted(visit: Visit, made_in: Database) -> None:
    """Write down that the session is in use, once in a while, in a short unit before the
    request's own."""
    if visit.session is None or not visit.is_to_be_noted:
        return
    with made_in.write() as session:
        sessions.touch(session, visit.session.actor, visit.session.session_id, visit.now)


Here = Annotated[Visit, Depends(here, scope="function")]


def _resumed(
    resume: Callable[[str, datetime], CurrentSession], secret: str, now: datetime
) -> CurrentSession | None:
    """The session of a cookie's secret; None when it is unknown or over."""
    try:
        return resume(secret, now)
    except NotSignedIn:
        return None


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


def admit_inside(action: str, endpoint: Callable[..., Any]) -> Callable[..., Any] | None:
    """The endpoint of a page that only reads, with the admission put before it.

    Both run in one thread and in one reading session: as a dependency the admission would take
    another of each, and on a busy machine a change of threads costs more than the page itself.
    Nothing of the endpoint runs for who may not come in. None where it is no plain function.
    """
    if inspect.iscoroutinefunction(endpoint):
        return None
    asked = {one.name: one for one in inspect.signature(endpoint).parameters.values()}
    visit_name = first_of(asked, Here)
    session_name = first_of(asked, Read)
    # The framework hands the request to one parameter only: the endpoint's own, if it has one.
    own_name = first_of(asked, Request)
    request_name = own_name or "entering"

    @functools.wraps(endpoint)
    def entered(**given: Any) -> Any:
        request = given[request_name] if own_name else given.pop(request_name)
        made_in = database(request)
        with made_in.read() as session:
            visit = seen(request, session)
            if action != OPEN:
                require(visit.person, action)
            ours = {visit_name: visit, session_name: session}
            given |= {name: value for name, value in ours.items() if name is not None}
            if session_name is not None and not visit.is_to_be_noted:
                with moments.told_in(visit.zone):
                    return endpoint(**given)
        noted(visit, made_in)
        with moments.told_in(visit.zone):
            if session_name is None:
                return endpoint(**given)
            with made_in.read() as given[session_name]:
                return endpoint(**given)

    named = inspect.Parameter.KEYWORD_ONLY
    taken = []
    if own_name is None:
        taken.append(inspect.Parameter(request_name, named, annotation=Request))
    ours = (visit_name, session_name)
    taken += [one.replace(kind=named) for one in asked.values() if one.name not in ours]
    entered.__signature__ = inspect.Signature(taken)  # type: ignore[attr-defined]
    return entered


def in_shops_time(endpoint: Callable[..., Any]) -> Callable[..., Any]:
    """The endpoint of a page, telling days and times in the zone of the shop that is visited.

    It is entered where the endpoint runs: what another thread has entered does not hold there.
    """
    asked = {one.name: one for one in inspect.signature(endpoint).parameters.values()}
    name = first_of(asked, Here)
    if name is None or inspect.iscoroutinefunction(endpoint):
        return endpoint

    @functools.wraps(endpoint)
    def told(*args: Any, **kwargs: Any) -> Any:
        with moments.told_in(kwargs[name].zone):
            return endpoint(*args, **kwargs)

    return told


def first_of(parameters: dict[str, inspect.Parameter], annotation: object) -> str | None:
    """The name of the first parameter that is annotated so."""
    return next((name for name, one in parameters.items() if one.annotation == annotation), None)
