"""Light or dark pages: as the device has it, or as this browser was told."""

from urllib.parse import urlsplit

from fastapi import Request
from starlette.responses import RedirectResponse, Response

from app.web.cookies import set_shade
from app.web.door import pages
from app.web.forms import Sent
from app.web.large_bodies import route_of
from app.web.routes import OPEN


@pages.add("POST", "/shade", OPEN)
def choose_shade(request: Request, form: Sent) -> Response:
    """Keeps the choice in a cookie, and shows the page again that it was made on."""
    answer = RedirectResponse(page_before(request), status_code=303)
    set_shade(request, answer, form.text("shade"))
    return answer


def page_before(request: Request) -> str:
    """The page that sent the form; today's list where that is no page to go to."""
    before = urlsplit(request.headers.get("referer", ""))
    if not before.path.startswith("/") or route_of("GET", before.path) is None:
        return "/"
    return f"{before.path}?{before.query}" if before.query else before.path
