"""The list of an insurer's claims, for who holds the link to it."""

from dataclasses import dataclass
from typing import ClassVar
from urllib.parse import quote

from app.services.insurer_links import InsurerClaim, InsurerClaims
from app.web.pages.calls import dial
from app.web.pages.words import Mark, mark
from app.web.rendering import Page
from app.web.routes import path_to
from app.wording import jobs as words
from app.wording.moments import day, moment_with_zone
from app.wording.translation import _, counted


@dataclass(frozen=True, slots=True)
class Reach:
    """By which the shop is asked; each empty where none is on record."""

    phone: str
    dial: str
    email: str
    write: str


@dataclass(frozen=True, slots=True)
class ClaimLine:
    """One claim of an insurer's list."""

    href: str
    claim: str
    job: str
    machine: str
    received: str
    standing: str
    finding: Mark | None
    """Of a certificate that is in force."""
    certificate: str
    photos: str
    """How many go with it; empty for none."""


@dataclass(frozen=True, kw_only=True)
class ClaimsPage(Page):
    template: ClassVar[str] = "pages/claim_list.html"
    shop: str
    reach: Reach
    until: str
    claims: tuple[ClaimLine, ...]
    more: bool


def list_page(found: InsurerClaims, token: str) -> ClaimsPage:
    """The list of an insurer's claims."""
    return ClaimsPage(
        title=_("Claims of {insurer}").format(insurer=found.insurer),
        shop=found.shop,
        reach=reach_of(found.phone, found.email),
        until=day(found.expires_at),
        claims=tuple(line_of(one, token) for one in found.claims),
        more=found.more,
    )


def line_of(one: InsurerClaim, token: str) -> ClaimLine:
    """One line of the list."""
    kind = words.kind(one.kind) if one.kind else ""
    return ClaimLine(
        href=path_to("claim_of_insurer", token=token, number=one.job_number),
        claim=one.claim_number,
        job=one.job_number,
        machine=one.machine,
        received=day(one.received_at),
        standing=standing_in_list(one),
        finding=mark(one.finding) if one.finding and one.status == "valid" else None,
        certificate=", ".join(filter(None, [one.certificate, kind])),
        photos=photos_of(one.photos) if one.photos else "",
    )


def standing_in_list(one: InsurerClaim) -> str:
    """What the register says of the newest certificate; before there is one, where it stands."""
    if one.status is None or one.status_since is None:
        return _("cancelled") if one.cancelled else _("no certificate yet")
    if one.status == "valid":
        return _("in force")
    status = words.certificate_status(one.status)
    return _("{status}, {since}").format(status=status, since=moment_with_zone(one.status_since))


def reach_of(phone: str, email: str) -> Reach:
    """The shop's telephone and mail, with what dials the one and writes to the other."""
    return Reach(phone, dial(phone), email, f"mailto:{quote(email, safe='@')}" if email else "")


def photos_of(count: int) -> str:
    """How many photos go with a claim."""
    return counted("{count} photo", "{count} photos", count).format(count=count)
