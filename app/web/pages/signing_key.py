"""The signing key, for the owner: renewing it, the shop's own key file, time stamps."""

from contextlib import AbstractContextManager
from dataclasses import dataclass
from typing import ClassVar

from fastapi import Request
from starlette.responses import Response

from app.errors import BadInput, Problem
from app.services import signing_keys
from app.signing.profile import KeyKind
from app.signing.time_stamp_service import Choice, Service
from app.web.again import shown_again
from app.web.database import Write
from app.web.door import pages
from app.web.form_state import FormState, Option
from app.web.forms import Form, Sent
from app.web.pages.authority import Fingerprint, fingerprints
from app.web.rendering import Page, see_saved, show
from app.web.visits import Here, Visit
from app.wording.signing_key import proof
from app.wording.translation import _

KINDS: tuple[KeyKind, ...] = ("ec-p256", "rsa-3072")
CHOICES: tuple[Choice, ...] = ("refuse", "sign_without")


@dataclass(frozen=True, kw_only=True)
class SigningKeyPage(Page):
    template: ClassVar[str] = "pages/signing_key.html"
    fingerprints: tuple[Fingerprint, ...]
    proof: tuple[str, ...]
    is_shops_own: bool
    has_own_password: bool
    kinds: tuple[Option, ...]
    authority_too: tuple[Option, ...]
    stamped_by: str
    """Address of the time-stamp service; empty without one."""
    if_unreachable: tuple[Option, ...]


@pages.add("GET", "/shop/key", "signing_keys.write")
def signing_key(request: Request, visit: Here) -> Response:
    """The key as it is, and what can be done with it."""
    return show(request, visit, page_for(request, FormState()))


@pages.add("POST", "/shop/key/renew", "signing_keys.write")
def renew_key(request: Request, visit: Here, session: Write, form: Sent) -> Response:
    """A new signer, or a new authority and signer."""
    kind = form.text("kind")
    with told_again(request, visit, {"kind": kind}, "key_password"):
        signing_keys.renew(
            session,
            visit.person,
            form.exact("key_password") or None,
            visit.now,
            press=request.app.state.press,
            kind=kind if kind in KINDS else KINDS[0],
            authority_too=form.text("authority_too") == "on",
        )
    return see_saved(request, "signing_key")


@pages.add("POST", "/shop/key/own", "signing_keys.write")
def load_key(request: Request, visit: Here, session: Write, form: Sent) -> Response:
    """The shop's own PKCS#12 file from now on."""
    with told_again(request, visit, {}, "key_file"):
        sent = form.file("key_file")
        if sent is None:
            raise BadInput([Problem("missing", "key_file")])
        signing_keys.load_own(
            session,
            visit.person,
            sent.content,
            form.exact("file_password"),
            visit.now,
            press=request.app.state.press,
        )
    return see_saved(request, "signing_key")


@pages.add("POST", "/shop/key/time-stamps", "signing_keys.write")
def set_time_stamps(request: Request, visit: Here, session: Write, form: Sent) -> Response:
    """The time-stamp service from now on; an empty address: none."""
    values = {name: form.text(name) for name in ("time_stamp_address", "if_unreachable")}
    with told_again(request, visit, values, "time_stamp_address"):
        signing_keys.set_time_stamps(
            session,
            visit.person,
            service_from(form),
            visit.now,
            press=request.app.state.press,
        )
    return see_saved(request, "signing_key")


def service_from(form: Form) -> Service | None:
    """The service as it was sent."""
    address, choice = form.text("time_stamp_address"), form.text("if_unreachable")
    if not address:
        return None
    sent = form.file("time_stamp_authority")
    pem = sent.content.decode("ascii", "replace") if sent else ""
    return Service(address, choice if choice in CHOICES else CHOICES[0], pem)


def told_again(
    request: Request, visit: Visit, values: dict[str, str], otherwise: str
) -> AbstractContextManager[None]:
    """What is refused is told on this page, beside its field."""
    fields = ("key_password", "key_file", "file_password", "time_stamp_authority")
    return shown_again(
        request, visit, values, lambda state: page_for(request, state), fields, otherwise
    )


def page_for(request: Request, state: FormState) -> SigningKeyPage:
    """The page, from the folder of keys unless something was just sent."""
    press = request.app.state.press
    found = signing_keys.authority_if_any(press)
    service = signing_keys.time_stamps(press)
    values = dict(state.values)
    if service:
        values.setdefault("time_stamp_address", service.address)
        values.setdefault("if_unreachable", service.if_unreachable)
    values = {"if_unreachable": CHOICES[0], "kind": KINDS[0], **values}
    kinds = (_("EC P-256: quick and short"), _("RSA-3072: for a checker that knows no other"))
    stops = (_("No certificate is issued"), _("It is signed without a stamp, and says so"))
    return SigningKeyPage(
        title=_("Signing key"),
        form=FormState(values, state.errors),
        fingerprints=fingerprints(found) if found else (),
        proof=proof(found.is_shops_own) if found else (),
        is_shops_own=found is None or found.is_shops_own,
        has_own_password=signing_keys.has_own_password(press),
        kinds=tuple(Option(*one) for one in zip(KINDS, kinds, strict=True)),
        authority_too=(Option("on", _("A new authority too: recipients need it again"), False),),
        stamped_by=service.address if service else "",
        if_unreachable=tuple(Option(*one) for one in zip(CHOICES, stops, strict=True)),
    )
