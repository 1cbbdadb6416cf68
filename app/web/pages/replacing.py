"""Whose place a measurement in progress is to take: said, changed or taken back before it ends."""

from dataclasses import dataclass
from typing import ClassVar

from fastapi import Request
from sqlalchemy.orm import Session
from starlette.responses import Response

from app.services import drafts, jobs, replacing
from app.services.drafts import DraftView
from app.web.again import shown_again
from app.web.database import Read, Write
from app.web.door import pages
from app.web.form_state import FormState, Option
from app.web.forms import Sent
from app.web.pages.measure import replaceable_in, replacing_in
from app.web.rendering import Page, see, show
from app.web.visits import Here, Visit
from app.wording.translation import _

PLACE = "/jobs/{number}/drafts/{draft}/replacing"


@dataclass(frozen=True, kw_only=True)
class ReplacingPage(Page):
    template: ClassVar[str] = "pages/replacing.html"
    on_the_floor: ClassVar[bool] = True
    number: str
    draft: int
    replaceable: tuple[Option, ...]
    """Empty where no measurement of this phase stands."""


@pages.add("GET", PLACE, "drafts.write")
def replacing_form(
    request: Request, visit: Here, session: Read, number: str, draft: int
) -> Response:
    """The choice as it stands."""
    found = drafts.read(session, visit.person, number, draft)
    state = FormState({"supersedes": str(found.supersedes or ""), "because": found.because or ""})
    return show(request, visit, page_for(session, visit, found, state))


@pages.add("POST", PLACE, "drafts.write")
def set_replacing(
    request: Request, visit: Here, session: Write, form: Sent, number: str, draft: int
) -> Response:
    """Keeps the choice with the measurement."""

    def again(state: FormState) -> Page:
        found = drafts.read(session, visit.person, number, draft)
        return page_for(session, visit, found, state)

    with shown_again(request, visit, form.values(), again, ("supersedes", "because")):
        replacing.set_replacing(
            session, visit.person, number, draft, *replacing_in(form), now=visit.now
        )
    return see("draft", number=number, draft=draft)


def page_for(session: Session, visit: Visit, found: DraftView, state: FormState) -> ReplacingPage:
    """The measurements of the same phase to choose from."""
    job = jobs.read(session, visit.person, found.job_number)
    return ReplacingPage(
        title=_("Whose place this measurement takes"),
        form=state,
        number=found.job_number,
        draft=found.id,
        replaceable=replaceable_in(job, found.phase),
    )


def replaces(found: DraftView) -> str:
    """Whose place it is to take, and why, in a sentence; empty where it takes none."""
    if found.supersedes is None:
        return ""
    return _("It takes the place of measurement {number}: {reason}").format(
        number=found.supersedes, reason=found.because or _("no reason given")
    )
