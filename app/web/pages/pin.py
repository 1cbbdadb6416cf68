"""A person's own PIN for the tablets on the floor."""

from dataclasses import dataclass
from typing import ClassVar

from fastapi import Request
from sqlalchemy.orm import Session
from starlette.responses import Response

from app.errors import BadInput, Problem
from app.services import pins
from app.services.pins import LONGEST, SHORTEST
from app.web.again import shown_again
from app.web.database import Read, Records, Write
from app.web.door import pages
from app.web.form_state import FormState
from app.web.forms import Sent
from app.web.rendering import Page, see_saved, show
from app.web.visits import Here, Visit
from app.wording.translation import _


@dataclass(frozen=True, kw_only=True)
class PinPage(Page):
    template: ClassVar[str] = "pages/pin.html"
    has_one: bool
    shortest: int
    longest: int


@pages.add("GET", "/pin", "account.use")
def pin_form(request: Request, visit: Here, session: Read) -> Response:
    """Choose a PIN, or have none."""
    return show(request, visit, page_for(session, visit, FormState()))


@pages.add("POST", "/pin", "account.use")
def set_pin(request: Request, visit: Here, database: Records, form: Sent) -> Response:
    """The new PIN opens enrolled tablets from now on."""

    def again(state: FormState) -> Page:
        with database.read() as session:
            return page_for(session, visit, state)

    with shown_again(request, visit, {}, again, ("pin", "pin_again", "password")):
        if form.text("pin") != form.text("pin_again"):
            raise BadInput([Problem("pins_differ", "pin_again")])
        pins.set_pin(
            database,
            visit.person,
            form.exact("password"),
            form.text("pin"),
            visit.now,
            request.app.state.passwords,
        )
    return see_saved(request, "pin_form")


@pages.add("POST", "/pin/none", "account.use")
def take_pin_away(request: Request, visit: Here, session: Write) -> Response:
    """No PIN opens anything in this person's name any more."""
    pins.take_away(session, visit.person, visit.now)
    return see_saved(request, "pin_form")


def page_for(session: Session, visit: Visit, state: FormState) -> PinPage:
    """The page with what is asked of a PIN."""
    return PinPage(
        title=_("PIN for the tablets"),
        form=state,
        has_one=pins.has_pin(session, visit.person),
        shortest=SHORTEST,
        longest=LONGEST,
    )
