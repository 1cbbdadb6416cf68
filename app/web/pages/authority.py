"""The shop authority's certificate and its fingerprints: what a recipient needs to check files."""

from dataclasses import dataclass
from typing import ClassVar

from fastapi import Request
from starlette.responses import Response

from app.errors import NotFound
from app.services import shop, signing_keys
from app.services.signing_keys import AuthorityView
from app.web.database import Read
from app.web.door import pages
from app.web.pages.download import attachment
from app.web.rendering import Page, show
from app.web.routes import OPEN, path_to
from app.web.visits import Here
from app.wording.moments import moment_with_zone
from app.wording.signing_key import in_groups, not_to_compare, proof, to_compare, with_colons
from app.wording.translation import _

PEM = "application/x-pem-file"


@dataclass(frozen=True, slots=True)
class Authority:
    """Where it is, its fingerprint, to be compared by another way, and what that proves."""

    href: str
    sha256: str
    sheet: str
    proof: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Fingerprint:
    """One line of the sheet."""

    of: str
    digits: str
    """In groups, to be read aloud."""
    colons: str
    """The same as openssl prints it."""
    use: str
    """Whether it is the one to compare, and with what."""


@dataclass(frozen=True, kw_only=True)
class SheetPage(Page):
    template: ClassVar[str] = "pages/authority.html"
    shop: str
    phone: str
    """The other way by which the digits can be compared; empty where none is on record."""
    fingerprints: tuple[Fingerprint, ...]
    proof: tuple[str, ...]
    href: str


@pages.add("GET", "/authority.pem", OPEN)
def authority_certificate(request: Request) -> Response:
    """The certificate as a file. It holds no secret."""
    return attachment(found(request).pem, PEM, "shop-authority.pem")


@pages.add("GET", "/authority", OPEN)
def authority_sheet(request: Request, visit: Here, session: Read) -> Response:
    """The fingerprints, to be printed and handed over, or read aloud."""
    one = found(request)
    page = SheetPage(
        title=_("Fingerprints of the signing key"),
        shop=shop.name(session),
        phone=shop.phone(session),
        fingerprints=fingerprints(one),
        proof=proof(one.is_shops_own),
        href=path_to("authority_certificate"),
    )
    return show(request, visit, page)


def found(request: Request) -> AuthorityView:
    """The authority. Raises NotFound before the first certificate."""
    one = signing_keys.authority_if_any(request.app.state.press)
    if one is None:
        raise NotFound("no_certificate_yet")
    return one


def fingerprints(one: AuthorityView) -> tuple[Fingerprint, ...]:
    """The authority's, the signer's, and those of authorities before it."""
    own = one.is_shops_own
    first, second = to_compare(own), not_to_compare(own)
    if not own:
        first, second = second, first
    lines = [fingerprint(_("The authority, SHA-256"), one.sha256, first)]
    if one.signer_until is not None:
        of = _("The signer, {name}, valid until {until}").format(
            name=one.signer, until=moment_with_zone(one.signer_until)
        )
        lines.append(fingerprint(of, one.signer_sha256, second))
    earlier = _("An earlier authority, for older certificates")
    return (*lines, *(fingerprint(earlier, digits, "") for digits in one.earlier))


def fingerprint(of: str, sha256: str, use: str) -> Fingerprint:
    """A line of the sheet."""
    return Fingerprint(of, in_groups(sha256), with_colons(sha256), use)


def authority_of(request: Request) -> Authority | None:
    """The link for a page; None before the first certificate."""
    one = signing_keys.authority_if_any(request.app.state.press)
    if one is None:
        return None
    return Authority(
        href=path_to("authority_certificate"),
        sha256=one.sha256,
        sheet=path_to("authority_sheet"),
        proof=proof(one.is_shops_own),
    )
