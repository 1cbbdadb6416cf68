"""A measurement in progress: all its steps with how far each is, and what comes next."""

from dataclasses import dataclass
from typing import ClassVar

from fastapi import Request
from sqlalchemy.orm import Session
from starlette.responses import Response

from app.records.session import Database
from app.services import drafts, floor, sending_back
from app.services.floor_memory import Memory
from app.services.floor_views import FloorView
from app.services.permissions import allowed
from app.web.again import shown_again
from app.web.database import Read, Records, Write
from app.web.door import floor_pages
from app.web.form_state import FormState
from app.web.forms import Sent
from app.web.kept_pages import KeptPage, kept
from app.web.pages.draft import version_of
from app.web.pages.draft_words import state_word
from app.web.pages.floor_step import (
    TakenPoint,
    go_on,
    is_wrong,
    just_taken,
    last_point,
    new_key,
    unsure_line,
)
from app.web.pages.floor_told import ToldLine, told_lines
from app.web.pages.floor_words import GroupLine, PlanLine, groups_of, plan_line, repeated
from app.web.pages.replacing import replaces
from app.web.pages.sending_back import Wanted, wanted_words
from app.web.rendering import Link, Page, see
from app.web.visits import Here, Visit
from app.wording import labels
from app.wording.moments import moment
from app.wording.noticed import short
from app.wording.translation import _

PAGES: Memory[KeptPage] = Memory()
ANSWERED = ("despite_noticed",)


@dataclass(frozen=True, kw_only=True)
class DraftPage(Page):
    template: ClassVar[str] = "pages/draft.html"
    on_the_floor: ClassVar[bool] = True
    number: str
    draft: int
    version: int
    request_key: str
    open: bool
    """Points can be added, by whoever looks."""
    may_submit: bool
    state: str
    survey: int | None
    groups: tuple[GroupLine, ...]
    next: Link | None
    """The step to do next; None: nothing required is left."""
    first: str
    """Code of the step that the forms of this page stand at."""
    told: tuple[ToldLine, ...]
    paused: str
    repeats: tuple[str, ...]
    noticed: str
    """What was noticed, in short, for the answer that is asked before it is submitted."""
    taken: TakenPoint | None
    taken_is_wrong: bool
    last_point: int
    points_saved: int
    saved: str
    plan: PlanLine | None
    plan_shown: bool
    """Before the first point the next step says what comes; while a reading is implausible nothing
    follows from the points."""
    wanted: Wanted | None
    """Why the inspector sent the job back."""
    replaces: str
    """Whose place it is to take, and why; empty where it takes none."""
    unsure: str
    """That nothing says how sure its points are; empty where something does."""


@floor_pages.add("GET", "/jobs/{number}/drafts/{draft}", "drafts.read")
def draft(request: Request, visit: Here, session: Read, number: str, draft: int) -> Response:
    """The measurement as it stands; nothing is evaluated."""
    taken = request.query_params.get("taken", "")
    stamp, key = floor.stamp(session, visit.person, number, draft), new_key()
    sent_back = sending_back.standing(session, visit.person, number)

    def made() -> DraftPage:
        return page_for(session, visit, number, draft, FormState(), taken, key)

    rests = floor.rests(session, visit.person, number, draft)
    whole = None if stamp is None else (stamp, sent_back, rests)
    return kept(PAGES, request, visit, session, whole, key, made)


@floor_pages.add("POST", "/jobs/{number}/drafts/{draft}/submit", "surveys.submit")
def submit_draft(
    request: Request, visit: Here, database: Records, form: Sent, number: str, draft: int
) -> Response:
    """The points become a measurement on record, which nothing changes any more; they are
    evaluated before the write lock is taken. Sent again because the answer was lost, it leads to
    the measurement that they became."""
    seen = {name: form.text(name) for name in ANSWERED if form.text(name)}
    with shown_again(
        request, visit, seen, lambda s: reread(database, visit, number, draft, s), ANSWERED
    ):
        with database.read() as session:
            became = drafts.read(session, visit.person, number, draft).survey_number
            if became is not None:
                return see("finding", number=number, survey=became)
            ready = drafts.prepare(
                session, visit.person, number, draft, version_of(form), despite_noticed=bool(seen)
            )
        with database.write() as session:
            stored = drafts.store(session, visit.person, ready, visit.now)
    return see("finding", number=number, survey=stored.number)


def reread(
    database: Database, visit: Visit, number: str, draft: int, state: FormState
) -> DraftPage:
    """The page as the records now have it, with what is wrong."""
    with database.read() as session:
        return page_for(session, visit, number, draft, state)


@floor_pages.add("POST", "/jobs/{number}/drafts/{draft}/discard", "drafts.write")
def discard_draft(
    request: Request, visit: Here, session: Write, form: Sent, number: str, draft: int
) -> Response:
    """Puts the measurement away; its points stay on record."""
    with shown_again(request, visit, {}, lambda s: page_for(session, visit, number, draft, s)):
        drafts.discard(session, visit.person, number, draft, visit.now, version_of(form))
    return see("job", number=number)


def page_for(
    session: Session,
    visit: Visit,
    number: str,
    draft: int,
    state: FormState,
    taken: str = "",
    request_key: str = "",
) -> DraftPage:
    """The page of a draft."""
    view = floor.road(session, visit.person, number, draft)
    sent_back = sending_back.standing(session, visit.person, number)
    rests = floor.rests(session, visit.person, number, draft)
    going = view.draft.state == "open" and not rests
    noticed = [one for one in view.told if not one.good]
    return DraftPage(
        title=_("Measurement: {phase}").format(phase=labels.phase(view.draft.phase)),
        form=state,
        number=view.draft.job_number,
        draft=view.draft.id,
        version=view.draft.version,
        request_key=request_key or new_key(),
        open=going and allowed(visit.person, "drafts.write"),
        may_submit=going and bool(view.draft.standing) and allowed(visit.person, "surveys.submit"),
        state=job_closed() if rests else state_word(view.draft.state),
        survey=view.draft.survey_number,
        groups=groups_of(view),
        next=next_of(view) if going else None,
        first=view.current or view.steps[0].code,
        told=told_lines(view, noticed),
        noticed=short(noticed),
        paused=moment(view.paused_at) if view.paused_at and going else "",
        repeats=repeated(view),
        taken=just_taken(view, taken, visit.person.name),
        taken_is_wrong=is_wrong(view, taken),
        last_point=last_point(view),
        points_saved=len(view.draft.standing),
        saved=moment(view.saved_at),
        plan=plan_line(view.plan, view) if view.plan else None,
        plan_shown=bool(view.draft.standing) and not any(one.grave for one in view.told),
        replaces=replaces(view.draft),
        wanted=wanted_words(sent_back, number, visit.person) if going else None,
        unsure=unsure_line(view) if going else "",
    )


def job_closed() -> str:
    """Why nothing is added to a measurement that was not finished."""
    return _("The job is closed: nothing is added to this measurement until it is opened again.")


def next_of(view: FloorView) -> Link | None:
    """The step to do next, if any is left."""
    return go_on(view) if view.current else None
