"""A signing key that may be stolen: marked as not to be trusted any more, for the owner."""

from dataclasses import dataclass
from datetime import datetime
from typing import ClassVar
from zoneinfo import ZoneInfo

from fastapi import Request
from sqlalchemy.orm import Session
from starlette.responses import Response

from app.errors import BadInput, Problem
from app.services import shop, signing_keys
from app.services.sign_in import confirm_password
from app.services.signing_keys import SignerView
from app.web.again import shown_again
from app.web.database import Read, Records
from app.web.door import pages
from app.web.form_state import FormState, Option
from app.web.forms import Form, Sent
from app.web.rendering import Page, see, show
from app.web.visits import Here, Visit
from app.wording.moments import moment
from app.wording.signing_key import in_groups
from app.wording.translation import _


@dataclass(frozen=True, slots=True)
class Signer:
    """One signer that the shop has used."""

    name: str
    digits: str
    """Fingerprint in groups."""
    valid: str
    now: bool
    marked: str
    """Since when it is trusted no more, and why; empty for the others."""
    to_replace: tuple[str, ...]
    """Certificates in force that it signed from then on."""


@dataclass(frozen=True, kw_only=True)
class DistrustPage(Page):
    template: ClassVar[str] = "pages/distrust.html"
    signers: tuple[Signer, ...]
    choices: tuple[Option, ...]


@pages.add("GET", "/shop/key/distrust", "signing_keys.write")
def distrust_form(request: Request, visit: Here, session: Read) -> Response:
    """The signers, and what marking one of them means."""
    return show(request, visit, page_for(request, session, visit, FormState()))


@pages.add("POST", "/shop/key/distrust", "signing_keys.write")
def distrust(request: Request, visit: Here, database: Records, form: Sent) -> Response:
    """Marks a signer; from now on it signs nothing more. The owner's password is asked again,
    because it cannot be taken back."""

    def again(state: FormState) -> Page:
        with database.read() as session:
            return page_for(request, session, visit, state)

    values = {name: form.text(name) for name in ("signer", "since", "reason")}
    with shown_again(request, visit, values, again, ("signer", "password")):
        if not values["signer"]:
            raise BadInput([Problem("nothing_chosen", "signer")], "nothing_chosen")
        with database.read() as session:
            since = since_from(form, shop.read(session, visit.person).time_zone)
        confirm_password(
            database,
            visit.person,
            form.exact("password"),
            visit.now,
            "signing_key.distrust",
            request.app.state.passwords,
        )
        with database.write() as session:
            signing_keys.distrust_signer(
                session,
                visit.person,
                values["signer"],
                since,
                values["reason"],
                visit.now,
                press=request.app.state.press,
            )
    return see("distrust_form")


def since_from(form: Form, zone: str) -> datetime:
    """The moment that was sent, by the shop's clock. Raises BadInput."""
    text = form.text("since")
    try:
        return datetime.fromisoformat(text).replace(tzinfo=ZoneInfo(zone))
    except ValueError as error:
        code = "wrong_type" if text else "missing"
        facts = {"met": text[:40], "needed": "moment"} if text else {}
        raise BadInput([Problem(code, "since", facts)]) from error


def page_for(request: Request, session: Session, visit: Visit, state: FormState) -> DistrustPage:
    """The page, from the folder of keys."""
    found = signing_keys.signer_views(request.app.state.press)
    return DistrustPage(
        title=_("A key that may be stolen"),
        form=state,
        signers=tuple(signer_of(one, session, visit) for one in found),
        choices=tuple(Option(one.sha256, choice_of(one)) for one in found),
    )


def signer_of(one: SignerView, session: Session, visit: Visit) -> Signer:
    """A signer in words."""
    since = one.distrusted_since
    return Signer(
        name=one.name,
        digits=in_groups(one.sha256),
        valid=_("valid from {start} until {end}").format(
            start=moment(one.valid_from), end=moment(one.valid_until)
        ),
        now=one.signs_now,
        marked=_("Not trusted from {since} on: {reason}").format(
            since=moment(since), reason=one.reason
        )
        if since
        else "",
        to_replace=signing_keys.signed_since(session, visit.person, one.sha256, since)
        if since
        else (),
    )


def choice_of(one: SignerView) -> str:
    """A signer in the list to choose from."""
    words = _("{name}, from {start}, {digits} …").format(
        name=one.name, start=moment(one.valid_from), digits=in_groups(one.sha256)[:19]
    )
    return _("{key}: signs now").format(key=words) if one.signs_now else words
