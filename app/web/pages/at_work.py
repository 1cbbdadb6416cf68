"""Who is at work on a tablet: people change by PIN, in two taps, without signing out."""

from dataclasses import dataclass
from typing import ClassVar

from fastapi import Request
from starlette.responses import RedirectResponse, Response

from app.errors import NotSignedIn
from app.records.session import Database
from app.services import pins, sessions, tablets
from app.services.pins import LONGEST, AtWork, TakenOver
from app.web.again import shown_again
from app.web.cookies import set_session, set_tablet, tablet_secret
from app.web.database import Records
from app.web.door import pages
from app.web.form_state import FormState
from app.web.forms import Sent
from app.web.pages.sign_in import local_target
from app.web.rendering import Page, see, show
from app.web.routes import OPEN, path_to
from app.web.visits import Here, Visit
from app.wording.translation import _


@dataclass(frozen=True, slots=True)
class Colleague:
    """Somebody who can take the tablet over."""

    name: str
    href: str
    here: bool
    """It is they who are at work on it now."""


@dataclass(frozen=True, kw_only=True)
class AtWorkPage(Page):
    template: ClassVar[str] = "pages/at_work.html"
    on_the_floor: ClassVar[bool] = True
    tablet: str
    """What the owner calls it; empty: it is not enrolled."""
    people: tuple[Colleague, ...]
    sign_in: str
    """Where a password opens this browser."""
    back: str


@dataclass(frozen=True, kw_only=True)
class PinEntryPage(Page):
    template: ClassVar[str] = "pages/pin_entry.html"
    on_the_floor: ClassVar[bool] = True
    tablet: str
    person: int
    others: str
    """Back to the list."""
    keys: tuple[str, ...]
    longest: int


@dataclass(frozen=True, kw_only=True)
class EnrolPage(Page):
    template: ClassVar[str] = "pages/enrol.html"
    on_the_floor: ClassVar[bool] = True


@pages.add("GET", "/at-work", OPEN)
def at_work(request: Request, visit: Here, database: Records) -> Response:
    """The people with a PIN, each a large button; on other browsers, how to get there."""
    target = local_target(request.query_params.get("next", ""))
    found = known_here(request, database)
    return show(request, visit, list_page(found, target, visit))


@pages.add("GET", "/at-work/{person}", OPEN)
def pin_entry(request: Request, visit: Here, database: Records, person: int) -> Response:
    """The PIN of one person."""
    target = local_target(request.query_params.get("next", ""))
    found = known_here(request, database)
    name = dict(found.people).get(person) if found else None
    if found is None or name is None:
        return see("at_work", {"next": target})
    state = FormState({"next": target})
    return show(request, visit, entry_page(found.tablet, person, name, target, state))


@pages.add("POST", "/at-work/{person}", OPEN)
def take_over(
    request: Request, visit: Here, database: Records, form: Sent, person: int
) -> Response:
    """The tablet goes on where it was, in this person's name."""
    target = local_target(form.text("next"))
    found = known_here(request, database)
    name = dict(found.people).get(person, "") if found else ""

    def again(state: FormState) -> Page:
        return entry_page(found.tablet if found else "", person, name, target, state)

    with shown_again(request, visit, {"next": target}, again, ("pin",), "pin"):
        taken = pins.take_over(
            database,
            tablet_secret(request),
            person,
            form.text("pin"),
            visit.now,
            request.app.state.passwords,
        )
    return taken_over(request, visit, database, taken, target)


@pages.add("GET", "/enrol", OPEN)
def enrol_form(request: Request, visit: Here) -> Response:
    """The code that the owner has made; opened from a picture of it, it is filled in already."""
    code = request.query_params.get("code", "")[:40]
    return show(request, visit, enrol_page(FormState({"code": code})))


@pages.add("POST", "/enrol", OPEN)
def enrol(request: Request, visit: Here, database: Records, form: Sent) -> Response:
    """This browser becomes the tablet of the code."""
    with shown_again(request, visit, {"code": form.text("code")}, enrol_page):
        made = tablets.enrol(database, form.text("code"), visit.address, visit.now)
    answer = see("at_work")
    set_tablet(request, answer, made.secret)
    return answer


def taken_over(
    request: Request, visit: Visit, database: Database, taken: TakenOver, target: str
) -> Response:
    """A session of the new person in place of the one before; nothing that the browser keeps for
    either of them is touched."""
    with database.write() as session:
        if visit.session:
            before = visit.session
            sessions.close(session, before.actor, before.session_id, visit.now)
        opened = sessions.open_session(
            session,
            taken.actor,
            visit.now,
            visit.address,
            request.headers.get("user-agent", ""),
            tablet_id=taken.tablet_id,
        )
    answer = RedirectResponse(target, status_code=303)
    set_session(request, answer, opened.secret)
    set_tablet(request, answer, tablet_secret(request) or "")
    return answer


def known_here(request: Request, database: Database) -> AtWork | None:
    """The tablet that this browser is, with its people; None when it is not enrolled."""
    try:
        with database.read() as session:
            return pins.at_work(session, tablet_secret(request))
    except NotSignedIn:
        return None


def list_page(found: AtWork | None, target: str, visit: Visit) -> AtWorkPage:
    """The list in words."""
    now = visit.actor.person_id if visit.actor else None
    people = found.people if found else ()
    return AtWorkPage(
        title=_("Who is at work?") if found else _("This tablet is not enrolled"),
        tablet=found.tablet if found else "",
        people=tuple(
            Colleague(name, path_to("pin_entry", {"next": target}, person=one), one == now)
            for one, name in people
        ),
        sign_in=path_to("sign_in_form", {"next": target}),
        back=target if visit.actor else "",
    )


def entry_page(tablet: str, person: int, name: str, target: str, state: FormState) -> PinEntryPage:
    """The entry of a PIN."""
    return PinEntryPage(
        title=name or _("PIN"),
        form=state,
        tablet=tablet,
        person=person,
        others=path_to("at_work", {"next": target}),
        keys=tuple("123456789"),
        longest=LONGEST,
    )


def enrol_page(state: FormState) -> EnrolPage:
    """The entry of a code."""
    return EnrolPage(title=_("Enrol this tablet"), form=state)
