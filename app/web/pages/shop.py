"""The shop's name, address and settings, and the password of its signing key: for the owner."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

from fastapi import Request
from sqlalchemy.orm import Session
from starlette.responses import Response

from app.errors import BadInput, Problem
from app.schemas.reading import checked
from app.schemas.shop import ShopIn
from app.services import shop, signing_keys
from app.services.passwords import SHORTEST
from app.services.shop import ShopView
from app.web.again import shown_again
from app.web.database import Read, Write
from app.web.decimals import numbers_in
from app.web.door import pages
from app.web.form_state import FormState, Option
from app.web.forms import Form, Sent
from app.web.pages.authority import Authority, authority_of
from app.web.rendering import Page, see_saved, show
from app.web.visits import Here, Visit
from app.wording import orders
from app.wording.numbers import plain
from app.wording.signing_key import names_another
from app.wording.translation import _

FIELDS = (
    "name", "address", "phone", "email", "time_zone", "own_statement", "confidence_threshold",
    "measurer_may_sign", "claim_link_days", "privacy_notice",
)  # fmt: skip
PASSWORDS = ("old_password", "new_password", "new_password_again")


@dataclass(frozen=True, kw_only=True)
class ShopPage(Page):
    template: ClassVar[str] = "pages/shop.html"
    may_sign: tuple[Option, ...]
    authority: Authority | None
    other_name: str
    """That the key carries an earlier name of the shop; else empty."""
    has_own_password: bool
    shortest: int
    notice: tuple[str, ...]
    """The notice on personal data that stands as long as the shop has none of its own."""


@pages.add("GET", "/shop", "shop.write")
def shop_form(request: Request, visit: Here, session: Read) -> Response:
    """The shop as it is now."""
    return show(request, visit, page_for(request, session, visit, FormState()))


@pages.add("POST", "/shop", "shop.write")
def change_shop(request: Request, visit: Here, session: Write, form: Sent) -> Response:
    """Changes it for what is measured and issued from now on."""
    values = {field: form.text(field) for field in FIELDS}
    with shown_again(
        request, visit, values, lambda state: page_for(request, session, visit, state)
    ):
        shop.change(session, visit.person, shop_from(form), visit.now)
    return see_saved(request, "shop_form")


@pages.add("POST", "/shop/key-password", "signing_keys.write")
def set_key_password(request: Request, visit: Here, session: Write, form: Sent) -> Response:
    """Puts the signing key under a password that this machine does not keep."""

    def again(state: FormState) -> Page:
        return page_for(request, session, visit, FormState(errors=state.errors))

    with shown_again(request, visit, {}, again, PASSWORDS, "new_password"):
        if form.exact("new_password") != form.exact("new_password_again"):
            raise BadInput([Problem("passwords_differ", "new_password_again")])
        signing_keys.set_password(
            session,
            visit.person,
            form.exact("old_password") or None,
            form.exact("new_password"),
            visit.now,
            press=request.app.state.press,
        )
    return see_saved(request, "shop_form")


def shop_from(form: Form) -> ShopIn:
    """The form as the schema. Raises BadInput with every field that is wrong."""
    sent = numbers_in({name: form.text(name) for name in FIELDS}, ["confidence_threshold"])
    return checked(ShopIn, sent)


def page_for(request: Request, session: Session, visit: Visit, state: FormState) -> ShopPage:
    """The page, filled in from the records unless something was just sent."""
    values = state.values or values_of(shop.read(session, visit.person))
    press = request.app.state.press
    ticked = bool(values.get("measurer_may_sign"))
    return ShopPage(
        title=_("Shop"),
        form=FormState(values, state.errors),
        may_sign=(Option("on", _("Whoever measured a machine may also sign for it"), ticked),),
        authority=authority_of(request),
        other_name=names_another(signing_keys.other_name(session, press)),
        has_own_password=signing_keys.has_own_password(press),
        shortest=SHORTEST,
        notice=orders.notice(values.get("name", "")),
    )


def values_of(found: ShopView) -> Mapping[str, str]:
    """The records as the form's texts."""
    return {
        "name": found.name,
        "address": found.address,
        "phone": found.phone,
        "email": found.email,
        "time_zone": found.time_zone,
        "own_statement": found.own_statement,
        "confidence_threshold": plain(found.confidence_threshold),
        "measurer_may_sign": "on" if found.measurer_may_sign else "",
        "claim_link_days": str(found.claim_link_days),
        "privacy_notice": found.privacy_notice,
    }
