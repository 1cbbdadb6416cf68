"""The cookies that carry a session's secret, and a tablet's."""

from starlette.requests import Request
from starlette.responses import Response

SECURE_NAME = "__Host-sid"
PLAIN_NAME = "sid"
SECURE_TABLET = "__Host-tablet"
PLAIN_TABLET = "tablet"
SAVED = "saved"
SAVED_FOR_S = 20
"""Long enough to come to the page that tells it."""
SHADE = "shade"
SHADES = ("light", "dark")
KEPT_FOR_S = 400 * 24 * 3600
"""As long as browsers keep a cookie at most; a tablet's is set anew whenever somebody takes it."""


def cookie_name(request: Request) -> str:
    """The cookie's name as this request's browser keeps it.

    Browsers drop a `Secure` cookie on plain http: on the shop's own network without TLS, signing
    in would silently be impossible. So the plain name serves there and only there, and a plain
    cookie is never read over TLS.
    """
    return SECURE_NAME if request.state.over_tls else PLAIN_NAME


def session_secret(request: Request) -> str | None:
    """The secret that the browser sent, if any."""
    return request.cookies.get(cookie_name(request))


def set_session(request: Request, response: Response, secret: str) -> None:
    """Give the browser the secret of a new session, until it is closed."""
    response.set_cookie(
        cookie_name(request),
        secret,
        path="/",
        secure=request.state.over_tls,
        httponly=True,
        samesite="lax",
    )


def clear_session(request: Request, response: Response) -> None:
    """Take the cookie away, and what the browser keeps of pages that were seen with it.

    Not its storage: readings that were taken without network wait there for the one who took
    them, as numbers under the address of their step.
    """
    response.delete_cookie(
        cookie_name(request),
        path="/",
        secure=request.state.over_tls,
        httponly=True,
        samesite="lax",
    )
    response.headers["Clear-Site-Data"] = '"cache"'


def shade_of(request: Request) -> str:
    """Whether this browser's pages are to be `light` or `dark`; empty: as the device has it."""
    chosen = request.cookies.get(SHADE, "")
    return chosen if chosen in SHADES else ""


def set_shade(request: Request, response: Response, shade: str) -> None:
    """Keep the choice in this browser, whoever signs in; anything but a shade ends it."""
    response.set_cookie(
        SHADE,
        shade if shade in SHADES else "",
        max_age=KEPT_FOR_S if shade in SHADES else 0,
        path="/",
        secure=request.state.over_tls,
        httponly=True,
        samesite="lax",
    )


def tells_saved(request: Request) -> bool:
    """Whether this page is the one that follows something that was just saved."""
    return request.method == "GET" and request.cookies.get(SAVED) == request.url.path


def set_saved(request: Request, response: Response, path: str, *, now: bool) -> None:
    """Have the page at this path tell once that it was saved (`now`), or no more."""
    response.set_cookie(
        SAVED,
        path if now else "",
        max_age=SAVED_FOR_S if now else 0,
        path=path,
        secure=request.state.over_tls,
        httponly=True,
        samesite="lax",
    )


def tablet_secret(request: Request) -> str | None:
    """The secret of an enrolled tablet that the browser sent, if any."""
    return request.cookies.get(SECURE_TABLET if request.state.over_tls else PLAIN_TABLET)


def set_tablet(request: Request, response: Response, secret: str) -> None:
    """Make the browser the one of an enrolled tablet, whoever is signed in."""
    response.set_cookie(
        SECURE_TABLET if request.state.over_tls else PLAIN_TABLET,
        secret,
        max_age=KEPT_FOR_S,
        path="/",
        secure=request.state.over_tls,
        httponly=True,
        samesite="lax",
    )
