"""Links with which an insurer opens the list of all its claims, without signing in."""

from dataclasses import dataclass
from typing import ClassVar

from fastapi import Request
from sqlalchemy.orm import Session
from starlette.responses import Response

from app.services import claims, insurer_links, insurers
from app.services.insurer_links import NewInsurerLink
from app.services.permissions import allowed
from app.web.again import shown_again
from app.web.database import Read, Write
from app.web.door import pages
from app.web.form_state import FormState
from app.web.forms import Sent
from app.web.pages.links import FIELDS, Link, days_of, filled_in, link_of, usual_days
from app.web.reach import address_of_claim
from app.web.rendering import Page, see, show
from app.web.visits import Here, Visit
from app.wording.moments import day
from app.wording.translation import _


@dataclass(frozen=True, kw_only=True)
class InsurerLinksPage(Page):
    template: ClassVar[str] = "pages/insurer_links.html"
    insurer: int
    links: tuple[Link, ...]
    new: str
    """The address of the link just made; shown this once."""
    new_until: str
    reachable: bool
    """Others can reach the address: the shop has a public one."""
    usual: str
    """For how many days a link opens where none are told."""
    may_see_uses: bool


@pages.add("GET", "/insurers/{insurer}/links", "insurer_links.write", name="insurer_links")
def links_of_insurer(request: Request, visit: Here, session: Read, insurer: int) -> Response:
    """The links to an insurer's claims."""
    return show(request, visit, page_for(request, session, visit, insurer, FormState()))


@pages.add("POST", "/insurers/{insurer}/links", "insurer_links.write")
def make_insurer_link(
    request: Request, visit: Here, session: Write, form: Sent, insurer: int
) -> Response:
    """Makes a link and shows its address: only the digest of its secret is kept."""

    def again(state: FormState) -> Page:
        return page_for(request, session, visit, insurer, state)

    with shown_again(request, visit, form.values(), again, FIELDS):
        made = insurer_links.create_link(
            session,
            visit.person,
            insurer,
            visit.now,
            note=form.text("note"),
            valid_days=days_of(form),
        )
    return show(request, visit, page_for(request, session, visit, insurer, FormState(), made))


@pages.add("POST", "/insurers/{insurer}/links/{link}/revoke", "insurer_links.write")
def revoke_insurer_link(visit: Here, session: Write, insurer: int, link: int) -> Response:
    """Makes a link useless at once."""
    insurer_links.revoke(session, visit.person, insurer, link, visit.now)
    return see("insurer_links", insurer=insurer)


def page_for(
    request: Request,
    session: Session,
    visit: Visit,
    insurer: int,
    state: FormState,
    made: NewInsurerLink | None = None,
) -> InsurerLinksPage:
    """The page, with the address of a link just made."""
    known = insurers.read(session, visit.person, insurer)
    found = claims.links(session, visit.person, visit.now, insurer_id=insurer)
    return InsurerLinksPage(
        title=_("Links to all claims of {insurer}").format(insurer=known.name),
        form=filled_in(state, known.name),
        insurer=insurer,
        links=tuple(link_of(one) for one in found),
        new=address_of_claim(request, made.token) if made else "",
        new_until=day(made.expires_at) if made else "",
        reachable=request.app.state.settings.public_url is not None,
        usual=usual_days(session, visit),
        may_see_uses=allowed(visit.person, "claim_links.read"),
    )
