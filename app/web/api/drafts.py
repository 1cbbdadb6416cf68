"""Measurements being taken, through the API: for instruments that send point by point."""

from starlette.responses import Response

from app.schemas.draft import OpenDraftIn
from app.schemas.planning import PlanOut
from app.schemas.requests import (
    DraftChangeIn,
    HeadingChangeIn,
    NewPointsIn,
    ReplacingIn,
    SubmitDraftIn,
    UndoIn,
)
from app.schemas.result import ResultOut
from app.services import drafts, replacing
from app.services.draft_views import DraftView
from app.services.survey_views import SurveyView
from app.web.api.call import Calling, answer
from app.web.api.described import Described, route
from app.web.api.listing import Limit, Offset, sliced

DRAFTS = "/jobs/{number}/drafts"
DRAFT = DRAFTS + "/{draft_id}"
NOT_HEADING = {"phase", "supersedes", "because"}


@route("GET", DRAFTS, "drafts.read", Described(answers=DraftView, many=True))
def list_drafts(call: Calling, number: str, limit: Limit = 50, offset: Offset = 0) -> Response:
    """The open drafts of a job."""
    found = call.read(lambda session: drafts.listing(session, call.actor, number))
    return sliced(call, found, limit, offset)


@route(
    "POST",
    DRAFTS,
    "drafts.write",
    Described(sends=OpenDraftIn, answers=DraftView, status=201, repeatable=True),
)
def open_draft(call: Calling, number: str) -> Response:
    """Begin a measurement, with what is known of its heading."""
    sent = call.sent(OpenDraftIn)
    heading = sent.model_dump(mode="json", exclude_unset=True, exclude=NOT_HEADING)
    return call.write(
        lambda session: drafts.open_draft(
            session,
            call.actor,
            number,
            sent.phase,
            call.now,
            heading,
            sent.supersedes,
            sent.because,
        ),
        201,
    )


@route("GET", DRAFT, "drafts.read", Described(answers=DraftView))
def read_draft(call: Calling, number: str, draft_id: int) -> Response:
    """One draft with all its points."""
    return answer(call.read(lambda session: drafts.read(session, call.actor, number, draft_id)))


@route(
    "PUT",
    DRAFT + "/heading",
    "drafts.write",
    Described(sends=HeadingChangeIn, answers=DraftView, repeatable=True),
)
def set_heading(call: Calling, number: str, draft_id: int) -> Response:
    """Put a new heading in place."""
    sent = call.sent(HeadingChangeIn)
    heading = sent.heading.model_dump(mode="json", exclude_unset=True)
    return call.write(
        lambda session: drafts.set_header(
            session, call.actor, number, draft_id, heading, call.now, sent.version
        )
    )


@route(
    "PUT",
    DRAFT + "/replacing",
    "drafts.write",
    Described(sends=ReplacingIn, answers=DraftView, repeatable=True),
)
def set_replacing(call: Calling, number: str, draft_id: int) -> Response:
    """Say whose place the draft is to take, with the reason; without a number it takes none."""
    sent = call.sent(ReplacingIn)
    return call.write(
        lambda session: replacing.set_replacing(
            session,
            call.actor,
            number,
            draft_id,
            sent.supersedes,
            sent.because,
            call.now,
            sent.version,
        )
    )


@route(
    "POST",
    DRAFT + "/points",
    "drafts.write",
    Described(sends=NewPointsIn, answers=DraftView, status=201, repeatable=True),
)
def add_points(call: Calling, number: str, draft_id: int) -> Response:
    """Add points, all of them or none."""
    sent = call.sent(NewPointsIn)
    points = [point.model_dump(mode="json", exclude_unset=True) for point in sent.points]
    return call.write(
        lambda session: drafts.add_points(
            session, call.actor, number, draft_id, points, call.now, sent.version
        ),
        201,
    )


@route(
    "POST",
    DRAFT + "/undo",
    "drafts.write",
    Described(sends=UndoIn, answers=DraftView, repeatable=True),
)
def undo_point(call: Calling, number: str, draft_id: int) -> Response:
    """Take a point back; it is kept and marked."""
    sent = call.sent(UndoIn)
    return call.write(
        lambda session: drafts.undo(
            session, call.actor, number, draft_id, call.now, sent.point_id, sent.version
        )
    )


@route("GET", DRAFT + "/preview", "surveys.submit", Described(answers=ResultOut))
def preview_draft(call: Calling, number: str, draft_id: int) -> Response:
    """Evaluate the points so far; nothing is stored. Refused while they do not suffice."""
    seen = call.read(lambda session: drafts.preview(session, call.actor, number, draft_id))
    if seen.refusal is not None:
        raise seen.refusal
    return answer(seen.result)


@route("GET", DRAFT + "/plan", "drafts.read", Described(answers=PlanOut))
def plan_draft(call: Calling, number: str, draft_id: int) -> Response:
    """What to measure next, from the points so far; nothing is stored.

    While they do not suffice for an evaluation, `needed_first` says what is missing.
    """
    found = call.read(lambda session: drafts.plan(session, call.actor, number, draft_id))
    return answer(found)


@route(
    "POST",
    DRAFT + "/submit",
    "surveys.submit",
    Described(sends=SubmitDraftIn, answers=SurveyView, status=201, repeatable=True),
)
def submit_draft(call: Calling, number: str, draft_id: int) -> Response:
    """Submit the standing points as a survey; a refused one leaves the draft as it was.

    Where something was noticed about them, `despite_noticed` says that it was read.
    """
    sent = call.sent(SubmitDraftIn)
    if (before := call.answered()) is not None:
        return before
    # Evaluated before the write lock is taken, so that nobody waits for the arithmetic.
    ready = call.read(
        lambda session: drafts.prepare(
            session,
            call.actor,
            number,
            draft_id,
            sent.version,
            despite_noticed=sent.despite_noticed,
        )
    )
    return call.write(
        lambda session: drafts.store(
            session, call.actor, ready, call.now, sent.supersedes, sent.because
        ),
        201,
    )


@route(
    "POST",
    DRAFT + "/discard",
    "drafts.write",
    Described(sends=DraftChangeIn, answers=DraftView, repeatable=True),
)
def discard_draft(call: Calling, number: str, draft_id: int) -> Response:
    """Discard a draft; its points are kept."""
    sent = call.sent(DraftChangeIn)
    return call.write(
        lambda session: drafts.discard(
            session, call.actor, number, draft_id, call.now, sent.version
        )
    )
