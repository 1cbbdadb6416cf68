"""Pages that are asked for again and again and seldom change: made once, then sent as they were.

What differs each time, the session's token and the key of the next request, is put in anew.
"""

from collections.abc import Callable, Hashable
from dataclasses import dataclass

from fastapi import Request
from sqlalchemy.orm import Session
from starlette.responses import HTMLResponse, Response

from app.services.floor_memory import Memory
from app.web.cookies import shade_of, tablet_secret
from app.web.form_token import form_token
from app.web.rendering import Page, html_of
from app.web.visits import Visit


@dataclass(frozen=True, slots=True)
class KeptPage:
    """A page's text, and the two pieces of it that belong to one request alone."""

    text: str
    token: str
    request_key: str


def kept(
    pages: Memory[KeptPage],
    request: Request,
    visit: Visit,
    session: Session,
    stamp: Hashable,
    request_key: str,
    make: Callable[[], Page],
) -> Response:
    """The page as HTML. stamp: of all that the page shows, None where there is none to go by.

    The person belongs to the key with name and roles, and so do whether this is a tablet and how
    light its pages are: the frame round the page shows all of them. Of the page that `make` makes,
    `request_key` is the only piece that may differ for the same stamp.
    """
    token = form_token(visit.secret or "")
    person = visit.person
    key = None if stamp is None else (
        stamp, str(request.url), person, visit.shop, visit.zone, tablet_secret(request) is not None,
        shade_of(request),
    )  # fmt: skip
    found = pages.recalled(
        session, key, lambda: KeptPage(html_of(request, visit, make()), token, request_key)
    )
    text = found.text.replace(found.token, token).replace(found.request_key, request_key)
    return HTMLResponse(text)
