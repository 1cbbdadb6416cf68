"""Links that were given out, and who used them: when, what was fetched, from which network."""

from dataclasses import dataclass
from typing import ClassVar

from fastapi import Request
from sqlalchemy.orm import Session
from starlette.responses import Response

from app.services import claims, insurer_links, insurers
from app.services.claim_access import KEPT
from app.services.claims import AccessView, LinkView
from app.services.permissions import allowed
from app.web.database import Read, Write
from app.web.door import pages
from app.web.pages.links import Link, link_of
from app.web.rendering import Page, see, show
from app.web.routes import path_to
from app.web.visits import Here, Visit
from app.wording.claims import use
from app.wording.moments import moment
from app.wording.translation import _


@dataclass(frozen=True, slots=True)
class Use:
    """One use of a link."""

    at: str
    what: str
    link: str
    href: str
    network: str
    refused: bool


@dataclass(frozen=True, slots=True)
class Place:
    """Somewhere to go to."""

    name: str
    href: str


@dataclass(frozen=True, slots=True)
class Given:
    """A link, and what it leads to."""

    link: Link
    to: str
    href: str
    """Of the job, or of the insurer's links; empty for who may not go there."""


@dataclass(frozen=True, kw_only=True)
class UsesPage(Page):
    template: ClassVar[str] = "pages/claim_uses.html"
    given: tuple[Given, ...]
    uses: tuple[Use, ...]
    insurers: tuple[Place, ...]
    """Whose links may be made here."""
    only: str
    """The one link that is looked at; empty for all."""
    kept_days: int
    more: bool
    """There are older uses, which are not shown."""


@pages.add("GET", "/links", "claim_links.read")
def claim_uses(request: Request, visit: Here, session: Read) -> Response:
    """All links of the shop, and the newest uses of them."""
    found = claims.links(session, visit.person, visit.now)
    used = claims.accesses(session, visit.person)
    return show(request, visit, page_for(visit, session, found, used))


@pages.add("GET", "/links/{link}", "claim_links.read")
def claim_link_uses(request: Request, visit: Here, session: Read, link: int) -> Response:
    """The uses of one link."""
    found = claims.link(session, visit.person, link, visit.now)
    used = claims.accesses(session, visit.person, link)
    return show(request, visit, page_for(visit, session, (found,), used, named(found)))


@pages.add("POST", "/links/{link}/revoke", "claim_links.write")
def revoke_any_link(visit: Here, session: Write, link: int) -> Response:
    """Makes a link useless at once, whatever it leads to."""
    insurer_links.revoke_any(session, visit.person, link, visit.now)
    return see("claim_uses")


def page_for(
    visit: Visit,
    session: Session,
    found: tuple[LinkView, ...],
    used: tuple[AccessView, ...],
    only: str = "",
) -> UsesPage:
    """The page about these links."""
    may_lead = allowed(visit.person, "insurer_links.write")
    by_id = {one.id: one for one in found}
    may_make = not only and may_lead
    known = insurers.find(session, visit.person, limit=200) if may_make else ()
    return UsesPage(
        title=only or _("Links, and who used them"),
        given=tuple(given_of(one, may_lead) for one in found),
        uses=tuple(use_of(one, by_id[one.link_id]) for one in used if one.link_id in by_id),
        insurers=tuple(Place(one.name, path_to("insurer_links", insurer=one.id)) for one in known),
        only=only,
        kept_days=KEPT.days,
        more=len(used) == claims.MOST_SHOWN,
    )


def named(one: LinkView) -> str:
    """A link told apart from the others."""
    to = one.job_number or one.insurer
    note = f", {one.note}" if one.note else ""
    return _("Link {hint}… to {to}{note}").format(hint=one.hint, to=to, note=note)


def given_of(one: LinkView, may_lead: bool) -> Given:
    """A link in words; `may_lead`: whoever looks may go to the links of an insurer."""
    if one.job_number:
        return Given(link_of(one), one.job_number, path_to("job", number=one.job_number))
    to = _("all claims of {insurer}").format(insurer=one.insurer)
    known = one.insurer_id if may_lead else None
    return Given(link_of(one), to, path_to("insurer_links", insurer=known) if known else "")


def use_of(one: AccessView, link: LinkView) -> Use:
    """One use in words."""
    return Use(
        at=moment(one.at),
        what=", ".join(filter(None, [use(one.what), one.subject])),
        link=named(link),
        href=path_to("claim_link_uses", link=link.id),
        network=one.address,
        refused=one.what == claims.REFUSED,
    )
