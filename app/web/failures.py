"""What goes wrong, answered: as a page for people, as problem details for the API."""

import logging
import secrets
from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException
from starlette.responses import RedirectResponse, Response
from starlette.types import ASGIApp, Scope

from app.errors import BadInput, JigbookError, NotFound, NotSignedIn, Problem
from app.schemas.problems import problems_from, refused
from app.web.again import ShownAgain
from app.web.api.problem_details import crash_details, problem_details
from app.web.cookies import tablet_secret
from app.web.form_state import said
from app.web.guard import API, Refuse
from app.web.headers import SECRET_ADDRESSES
from app.web.pages.claim_list import Reach, reach_of
from app.web.problems import extra_headers, problems_of, status_of
from app.web.rendering import Page, show
from app.web.routes import path_to
from app.web.visits import stranger
from app.wording.moments import told_in
from app.wording.translation import _

log = logging.getLogger(__name__)

REACH = ("phone", "email")
PASSWORD_NEEDED = "pin_does_not_reach"
"""The person may, but came in by PIN."""


@dataclass(frozen=True, kw_only=True)
class FailurePage(Page):
    template: ClassVar[str] = "pages/failure.html"
    sentences: tuple[str, ...]
    sign_in: str
    """Where to sign in when that is what is missing; else empty."""
    reference: str
    """What to quote when asking for help; empty when the reason is told."""
    shop: str = ""
    """Who made a link that has ended."""
    reach: Reach | None = None
    """How that shop is asked."""
    start: bool = True
    """The way to the first page is shown; outsiders have none."""


def install(app: FastAPI) -> None:
    """Make this module answer every error of the app."""
    app.add_exception_handler(ShownAgain, answer_shown_again)
    app.add_exception_handler(JigbookError, answer_own)
    app.add_exception_handler(RequestValidationError, answer_validation)
    app.add_exception_handler(HTTPException, answer_http)
    app.add_exception_handler(Exception, answer_crash)


async def answer_shown_again(request: Request, error: Exception) -> Response:
    """The form that was refused."""
    assert isinstance(error, ShownAgain)
    return error.answer


async def answer_own(request: Request, error: Exception) -> Response:
    """One of the program's own errors."""
    assert isinstance(error, JigbookError)
    return failure(request, error)


async def answer_validation(request: Request, error: Exception) -> Response:
    """What was sent does not fit. The framework's own answer would echo it, NaN and all."""
    assert isinstance(error, RequestValidationError)
    if not request.url.path.startswith(API):
        return failure(request, NotFound("no_such_page"))
    return failure(request, refused(problems_from(error.errors())))


async def answer_http(request: Request, error: Exception) -> Response:
    """The framework's own refusals: an unknown path, a method that a path does not have."""
    assert isinstance(error, HTTPException)
    own: JigbookError = NotFound("no_such_page")
    if error.status_code == 405:
        facts = {"method": request.method}
        own = BadInput([Problem("method_not_allowed", "", facts)], "method_not_allowed")
    return failure(request, own, error.headers)


async def answer_crash(request: Request, error: Exception) -> Response:
    """A mistake of the program: a number to quote, which stands in the log, and no detail."""
    reference = secrets.token_hex(4)
    log.error("unexpected error %s", reference, exc_info=error)
    if request.url.path.startswith(API):
        return crash_details(reference)
    page = FailurePage(
        title=_("Something broke in the program"),
        sentences=(_("Nothing was changed. The details stand in the server's log."),),
        sign_in="",
        reference=reference,
    )
    return show(request, stranger(request), page, 500)


def failure(
    request: Request, error: JigbookError, headers: Mapping[str, str] | None = None
) -> Response:
    """The answer to an error, with its status and the headers that belong to it."""
    if request.url.path.startswith(API):
        answer: Response = problem_details(error)
    elif request.method == "GET" and isinstance(error, NotSignedIn):
        place = "sign_in_form" if tablet_secret(request) is None else "at_work"
        answer = RedirectResponse(address_before(place, request), status_code=303)
    elif request.method == "GET" and error.code == PASSWORD_NEEDED:
        answer = RedirectResponse(address_before("sign_in_form", request), status_code=303)
    elif request.method == "GET" and error.code == "password_must_change":
        answer = RedirectResponse(path_to("change_password_form"), status_code=303)
    else:
        visit = stranger(request)
        with told_in(visit.zone):
            answer = show(request, visit, page_of(request, error), status_of(error))
    answer.headers.update({**(headers or {}), **extra_headers(error)})
    return answer


def page_of(request: Request, error: JigbookError) -> FailurePage:
    """The page that tells what was met, what is needed and what to do."""
    titles = {
        401: _("Sign in first"),
        403: _("This is not allowed"),
        404: _("Not found"),
        410: _("This link has ended"),
        413: _("Too much at once"),
        429: _("Too many tries"),
        503: _("Not available now"),
    }
    return FailurePage(
        title=titles.get(status_of(error), _("This cannot be done")),
        sentences=tuple(said(problem) for problem in problems_of(error)),
        sign_in=path_to("sign_in_form") if lacks_a_password(error) else "",
        reference="",
        shop=str(error.facts["shop"]) if ended(error) else "",
        reach=reach_of(*(str(error.facts[one]) for one in REACH)) if ended(error) else None,
        start=not request.url.path.startswith(SECRET_ADDRESSES),
    )


def ended(error: JigbookError) -> bool:
    """Whether a link opened something once; it was secret, so whoever has it may know the shop."""
    return error.code in ("claim_link_expired", "claim_link_revoked")


def lacks_a_password(error: JigbookError) -> bool:
    """Whether signing in is what would help."""
    return isinstance(error, NotSignedIn) or error.code == PASSWORD_NEEDED


def address_before(name: str, request: Request) -> str:
    """Where somebody says who they are, to go on to this page then."""
    target = request.url.path
    if request.url.query:
        target += f"?{request.url.query}"
    return path_to(name, {"next": target} if target != "/" else None)


def refusing(app: FastAPI) -> Refuse:
    """How the guard answers what never reaches the app."""

    def refuse(scope: Scope, error: JigbookError) -> ASGIApp:
        return failure(Request({**scope, "app": app}), error)

    return refuse
