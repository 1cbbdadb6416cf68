"""Forms that change something: admission, form and writing session in one thread.

As dependencies of the framework each of them would take a thread of its own, and on a busy machine
a change of threads costs more than a reading that is stored.
"""

import functools
import inspect
from collections.abc import Callable
from typing import Any, TypeVar

from fastapi import Request
from sqlalchemy.orm import Session

from app.errors import BadInput
from app.records.session import Database
from app.services.permissions import require
from app.web.database import Write, database, in_own_thread
from app.web.form_token import FIELD, check_form_token
from app.web.forms import Form, Sent, is_typed, read_form
from app.web.routes import OPEN
from app.web.visits import Here, Visit, first_of, here
from app.wording import moments

OURS = (Here, Write, Sent)
Endpoint = TypeVar("Endpoint", bound=Callable[..., Any])
_before: dict[Callable[..., Any], Callable[..., None]] = {}


def before_writing(work: Callable[..., None]) -> Callable[[Endpoint], Endpoint]:
    """Decorator: what is worked out, given the records, the visit, the form and the parts of the
    path, before the endpoint's turn to write comes, so that nobody waits for it."""

    def marked(endpoint: Endpoint) -> Endpoint:
        _before[endpoint] = work
        return endpoint

    return marked


def admit_writing(action: str, endpoint: Callable[..., Any]) -> Callable[..., Any] | None:
    """The endpoint of a form, with the admission put before it. None where it takes anything that
    the framework would have to make, or no writing session.

    Nothing of it runs, and no transaction begins, for who may not come in; larger forms are not
    even read then.
    """
    asked = {one.name: one for one in inspect.signature(endpoint).parameters.values()}
    visit_name, session_name, form_name = (first_of(asked, kind) for kind in OURS)
    if (
        session_name is None
        or inspect.iscoroutinefunction(endpoint)
        or not all(map(plain, asked.values()))
    ):
        return None
    own_name = first_of(asked, Request)
    ahead = _before.get(endpoint)
    request_name = own_name or "entering"

    @functools.wraps(endpoint)
    async def entered(**given: Any) -> Any:
        request = given[request_name] if own_name else given.pop(request_name)
        made_in = database(request)
        come_in = functools.partial(let_in, action, request, made_in)
        known = None if is_typed(request) else await in_own_thread(come_in)
        try:
            form = await read_form(request)
        except BadInput:
            if known is None:
                await in_own_thread(come_in)
            raise

        def written() -> Any:
            visit = known or come_in()
            if action != OPEN:
                check_form_token(visit.secret or "", form.exact(FIELD))
            ours: dict[str | None, Visit | Form | Session] = {visit_name: visit, form_name: form}
            with moments.told_in(visit.zone):
                if ahead is not None:
                    ahead(made_in, visit, form, **given)
                with made_in.write() as session:
                    ours[session_name] = session
                    return endpoint(**given, **{name: one for name, one in ours.items() if name})

        return await in_own_thread(written)

    named = inspect.Parameter.KEYWORD_ONLY
    taken = []
    if own_name is None:
        taken.append(inspect.Parameter(request_name, named, annotation=Request))
    taken += [one.replace(kind=named) for one in asked.values() if one.annotation not in OURS]
    entered.__signature__ = inspect.Signature(taken)  # type: ignore[attr-defined]
    return entered


def plain(parameter: inspect.Parameter) -> bool:
    """Whether the endpoint itself, or the path of the request, makes this parameter."""
    return parameter.annotation in (*OURS, Request, str, int)


def let_in(action: str, request: Request, records: Database) -> Visit:
    """The visit of a person who may. Raises NotSignedIn, NotAllowed."""
    visit = here(request, records)
    if action != OPEN:
        require(visit.person, action)
    return visit
