"""The tablets on which people change by PIN: for the owner."""

from dataclasses import dataclass
from typing import ClassVar

from fastapi import Request
from markupsafe import Markup
from starlette.responses import Response

from app.services import tablets
from app.services.tablets import EnrolmentCode, TabletView
from app.web import drawn
from app.web.again import shown_again
from app.web.database import Read, Write
from app.web.door import pages
from app.web.form_state import FormState
from app.web.forms import Sent
from app.web.reach import address_for_others
from app.web.rendering import Page, see, show
from app.web.routes import path_to
from app.web.visits import Here
from app.wording.moments import moment
from app.wording.translation import _


@dataclass(frozen=True, slots=True)
class Tablet:
    """One tablet in the list."""

    id: int
    name: str
    state: str
    seen: str
    revoked: bool


@dataclass(frozen=True, kw_only=True)
class TabletsPage(Page):
    template: ClassVar[str] = "pages/tablets.html"
    tablets: tuple[Tablet, ...]


@dataclass(frozen=True, kw_only=True)
class EnrolmentPage(Page):
    template: ClassVar[str] = "pages/enrolment.html"
    name: str
    code: str
    until: str
    picture: Markup
    """The address with the code, for a camera; empty where no tablet reaches this machine."""
    address: str
    """What is typed on a tablet without a camera."""


@pages.add("GET", "/tablets", "tablets.read")
def tablets_list(request: Request, visit: Here, session: Read) -> Response:
    """All tablets, and the form for another."""
    found = tablets.list_tablets(session, visit.person)
    return show(request, visit, list_page(found, FormState()))


@pages.add("POST", "/tablets", "tablets.write")
def add_tablet(request: Request, visit: Here, session: Write, form: Sent) -> Response:
    """A new tablet and its code, shown this once."""
    found = tablets.list_tablets(session, visit.person)
    with shown_again(request, visit, form.values(), lambda state: list_page(found, state)):
        made = tablets.add(session, visit.person, form.text("tablet_name"), visit.now)
    return show(request, visit, code_page(request, made))


@pages.add("POST", "/tablets/{tablet}/code", "tablets.write")
def new_tablet_code(request: Request, visit: Here, session: Write, tablet: int) -> Response:
    """Another code, shown this once."""
    made = tablets.new_code(session, visit.person, tablet, visit.now)
    return show(request, visit, code_page(request, made))


@pages.add("POST", "/tablets/{tablet}/revoke", "tablets.write")
def revoke_tablet(visit: Here, session: Write, tablet: int) -> Response:
    """No PIN opens it any more, at once."""
    tablets.revoke(session, visit.person, tablet, visit.now)
    return see("tablets_list")


def list_page(found: tuple[TabletView, ...], state: FormState) -> TabletsPage:
    """The list in words."""
    return TabletsPage(
        title=_("Tablets on the floor"),
        form=state,
        tablets=tuple(tablet_of(one) for one in found),
    )


def tablet_of(one: TabletView) -> Tablet:
    """A tablet in words."""
    if one.revoked_at:
        state = _("revoked {moment}").format(moment=moment(one.revoked_at))
    elif one.enrolled_at:
        state = _("enrolled {moment}").format(moment=moment(one.enrolled_at))
    else:
        state = _("not enrolled yet")
    seen = moment(one.last_seen_at) if one.last_seen_at else _("never")
    return Tablet(one.id, one.name, state, seen, one.revoked_at is not None)


def code_page(request: Request, made: EnrolmentCode) -> EnrolmentPage:
    """The code as a picture and to be typed."""
    start = address_for_others(request)
    form = path_to("enrol_form")
    return EnrolmentPage(
        title=_("Enrol {name}").format(name=made.name),
        name=made.name,
        code=made.code,
        until=moment(made.until),
        picture=drawn.leading_to(start + path_to("enrol_form", {"code": made.code}))
        if start
        else Markup(""),
        address=f"{start}{form}" if start else "",
    )
