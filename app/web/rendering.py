"""From a page's dataclass to the answer: the frame round it and the template it names."""

from dataclasses import dataclass
from typing import ClassVar
from urllib.parse import urlsplit

from fastapi import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from app.services.permissions import Actor, allowed
from app.settings import Settings
from app.web.cookies import set_saved, shade_of, tablet_secret, tells_saved
from app.web.form_state import EMPTY, FormState, Option
from app.web.form_token import form_token
from app.web.headers import SECRET_ADDRESSES
from app.web.routes import path_to
from app.web.templates import environment
from app.web.visits import Visit
from app.wording.translation import _

PROGRAM = "Jigbook"


@dataclass(frozen=True, kw_only=True)
class Page:
    """What one template is given as `page`; each page has a subclass with its own fields."""

    template: ClassVar[str]
    on_the_floor: ClassVar[bool] = False
    """Shown on the technician's tablet: everything is one step larger."""
    title: str
    form: FormState = EMPTY


@dataclass(frozen=True, slots=True)
class Link:
    """A place to go to."""

    label: str
    href: str
    current: bool = False


@dataclass(frozen=True, slots=True)
class Frame:
    """What stands round every page; templates know it as `frame`."""

    program: str
    shop: str
    language: str
    person: str | None
    person_key: str
    """Tells this browser's people apart in what their pages keep in it; says no name."""
    form_token: str
    saved: bool
    """The page follows something that was just saved."""
    shade: str
    """`light` or `dark`; empty: as the device has it."""
    shades: tuple[Option, ...]
    """What may be chosen here."""
    change_person: str
    """Where the next person takes this tablet over; empty where it is not enrolled."""
    navigation: tuple[Link, ...]
    banners: tuple[str, ...]


def show(request: Request, visit: Visit, page: Page, status: int = 200) -> Response:
    """The page as an answer."""
    answer = HTMLResponse(html_of(request, visit, page), status_code=status)
    if tells_saved(request):
        set_saved(request, answer, request.url.path, now=False)
    return answer


def html_of(request: Request, visit: Visit, page: Page) -> str:
    """The page as HTML."""
    template = environment().get_template(page.template)
    return template.render(page=page, frame=frame_for(request, visit))


def see(name: str, /, query: dict[str, str] | None = None, **parts: str | int) -> Response:
    """After something was done: go and see it, so that a reload does not do it again."""
    return RedirectResponse(path_to(name, query, **parts), status_code=303)


def see_saved(request: Request, name: str, /, **parts: str | int) -> Response:
    """The same where the page is to tell in a quiet line that it was saved."""
    answer = see(name, None, **parts)
    set_saved(request, answer, path_to(name, None, **parts), now=True)
    return answer


def frame_for(request: Request, visit: Visit) -> Frame:
    """The frame of a page for whoever looks at it."""
    return Frame(
        program=PROGRAM,
        shop=visit.shop,
        language="en",
        person=visit.actor.name if visit.actor else None,
        person_key=str(visit.actor.person_id) if visit.actor else "",
        form_token=form_token(visit.secret) if visit.secret else "",
        saved=tells_saved(request),
        shade=shade_of(request),
        shades=shades(request.url.path),
        change_person=change_address(request),
        navigation=navigation(visit.actor, request.url.path) if visit.actor else (),
        banners=tuple(banners(request.app.state.settings)),
    )


def shades(here: str) -> tuple[Option, ...]:
    """How light the pages can be; nothing where browsers do not say which page sent a form."""
    if here.startswith(SECRET_ADDRESSES):
        return ()
    return (Option("light", _("Light")), Option("dark", _("Dark")), Option("", _("As the device")))


def change_address(request: Request) -> str:
    """Where the next person says who they are, to come back to what is shown here; empty where
    the browser is no tablet, or they are asked already.

    A form that was refused is shown at an address that only takes forms: there the page that the
    form stood on is come back to.
    """
    target = request.url.path
    if tablet_secret(request) is None or target.startswith(path_to("at_work")):
        return ""
    if request.method != "GET":
        target = urlsplit(request.headers.get("referer", "")).path or "/"
    elif request.url.query:
        target += f"?{request.url.query}"
    return path_to("at_work", {"next": target})


SIGNING = ("/sign-off", "/certificates", "/send-back")
"""How the pages of a job end at which an inspector signs, or does not."""


def navigation(actor: Actor, here: str) -> tuple[Link, ...]:
    """The places that the person may go to."""
    places = [
        (_("Today"), "today", "jobs.read"),
        (_("To sign"), "to_sign", "certificates.issue"),
        (_("Certificates"), "register", "certificates.read"),
        (_("References"), "references_list", "references.read"),
        (_("Instruments"), "instruments_list", "instruments.read"),
        (_("People"), "people_list", "people.read"),
        (_("Shop"), "shop_form", "shop.write"),
    ]
    return tuple(
        Link(label, path_to(name), current=is_here(path_to(name), here))
        for label, name, action in places
        if allowed(actor, action)
    )


def is_here(place: str, here: str) -> bool:
    """Whether the page lies in this place; jobs lie in today's list, but not their signing."""
    signing = here.startswith("/jobs/") and here.endswith(SIGNING)
    if place == path_to("to_sign"):
        return signing or here.startswith(place)
    if place == "/":
        return here == "/" or (here.startswith(("/jobs", "/check-in")) and not signing)
    return here.startswith(place)


def banners(settings: Settings) -> list[str]:
    """What everybody who uses this installation must know."""
    found = []
    if settings.is_demonstration:
        found.append(_("Demonstration: every shop, person, machine and value here is invented."))
    if settings.plain_http_on_lan and not settings.over_tls:
        found.append(
            _("This shop runs without encryption: everybody on its network can read along.")
        )
    return found
