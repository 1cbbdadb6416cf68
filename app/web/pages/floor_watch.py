"""What came since, asked for often; and what is known so far, worked out when asked for."""

from dataclasses import dataclass
from typing import ClassVar

from fastapi import Request
from sqlalchemy.orm import Session
from starlette.responses import JSONResponse, Response

from app.errors import BadInput, Refusal
from app.schemas.planning import PlanOut
from app.services import drafts, floor
from app.services.draft_views import DraftPoint
from app.services.drafts import Preview
from app.services.floor_views import FloorView
from app.services.permissions import allowed
from app.web.database import Read
from app.web.door import floor_pages
from app.web.form_state import said
from app.web.pages.draft_words import SoFar, reading_of, so_far_of
from app.web.pages.floor_told import begun
from app.web.pages.floor_words import (
    PlanLine,
    by_another,
    place_of,
    plan_line,
    points_saved_word,
    points_word,
)
from app.web.rendering import Page, show
from app.web.routes import path_to
from app.web.visits import Here, Visit
from app.wording.translation import _

NOTHING_NEW = 204


@dataclass(frozen=True, kw_only=True)
class PlanPage(Page):
    template: ClassVar[str] = "pages/floor_plan.html"
    on_the_floor: ClassVar[bool] = True
    number: str
    draft: int
    line: PlanLine
    lines: tuple[str, ...]
    """How each characteristic stands."""
    needed: tuple[str, ...]
    so_far: SoFar


@floor_pages.add("GET", "/jobs/{number}/drafts/{draft}/plan", "drafts.read")
def floor_plan(request: Request, visit: Here, session: Read, number: str, draft: int) -> Response:
    """What is known so far, and what one more station or point would bring."""
    page = plan_page(session, visit, number, draft)
    return show(request, visit, page)


def plan_page(session: Session, visit: Visit, number: str, draft: int) -> PlanPage:
    """The plan, or why no further point sets right what is wrong."""
    try:
        plan: PlanOut | None = floor.plan(session, visit.person, number, draft)
        view = floor.road(session, visit.person, number, draft)
        line = plan_line(plan, view) if plan else PlanLine("", "")
    except (BadInput, Refusal) as error:
        plan, line = None, PlanLine(said(error).rstrip("."), "")
    found = plan["characteristics"] if plan else []
    return PlanPage(
        title=_("What is known so far"),
        number=number,
        draft=draft,
        line=line,
        lines=tuple(begun(one["message"]) for one in found),
        needed=tuple(begun(need["message"]) for need in plan["still_needed"]) if plan else (),
        so_far=so_far_of(preview_of(session, visit, number, draft)),
    )


def preview_of(session: Session, visit: Visit, number: str, draft: int) -> Preview:
    """What the points so far give; those who may not submit see no preview."""
    if not allowed(visit.person, "surveys.submit"):
        return Preview(None, None)
    return drafts.preview(session, visit.person, number, draft)


@floor_pages.add("GET", "/jobs/{number}/drafts/{draft}/news", "drafts.read")
def floor_news(request: Request, visit: Here, session: Read, number: str, draft: int) -> Response:
    """The points that came since a version, for the page's script; empty when none did."""
    news = floor.news(
        session, visit.person, number, draft, counter(request, "after"), counter(request, "since")
    )
    if news is None:
        return Response(status_code=NOTHING_NEW)
    fresh = {point.id for point in news.points}
    grave = {point for told in news.told if told.grave for point in told.points}
    at, name = news.live_step, visit.person.name
    return JSONResponse(
        {
            "version": news.version,
            "at": path_to("floor_step", number=number, draft=draft, step=at) if at else None,
            "points": [point_out(point, point.id not in grave, name) for point in news.points],
            "told": [told.sentence for told in news.told if fresh.intersection(told.points)],
            "counts": counts(floor.road(session, visit.person, number, draft), request),
        }
    )


def counts(view: FloorView, request: Request) -> dict[str, str]:
    """What the page counts, fresh, for one that is not loaded anew while somebody types."""
    step = view.step(request.query_params.get("step", ""))
    return {
        "points": points_saved_word(len(view.draft.standing)),
        "counted": points_word(step) if step and step.feature else "",
    }


def counter(request: Request, name: str) -> int:
    """A number of the address; 0 where it is none."""
    text = request.query_params.get(name, "")
    return int(text) if text.isascii() and text.isdecimal() and len(text) < 10 else 0


def point_out(point: DraftPoint, plausible: bool, looks: str) -> dict[str, object]:
    """A point as the script shows it. looks: name of whoever looks."""
    reading, by = reading_of(point), by_another(point, looks)
    parts = [reading.feature, place_of(point)]
    return {
        "id": point.id,
        "word": _("Taken by {name}").format(name=by) if by and plausible else "",
        "name": " · ".join(part for part in parts if part),
        "reading": f"X {reading.x}  Y {reading.y}  Z {reading.z}",
        "plausible": plausible,
        "by": point.added_by or "",
    }
