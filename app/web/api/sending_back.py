"""Sending a job back, and the answer, through the API."""

from starlette.responses import Response

from app.schemas.requests import AnswerIn, ReasonIn
from app.services import sending_back
from app.services.job_views import JobView
from app.services.sending_back import Exchange
from app.web.api.call import Calling
from app.web.api.described import Described, route
from app.web.api.listing import Limit, Offset, sliced


@route("GET", "/jobs/{number}/exchanges", "jobs.read", Described(answers=Exchange, many=True))
def list_exchanges(call: Calling, number: str, limit: Limit = 50, offset: Offset = 0) -> Response:
    """Why a job was sent back and what was answered, the oldest first."""
    found = call.read(lambda session: sending_back.exchanges(session, call.actor, number))
    return sliced(call, found, limit, offset)


@route(
    "POST",
    "/jobs/{number}/send-back",
    "jobs.send_back",
    Described(sends=ReasonIn, answers=JobView, repeatable=True),
)
def send_job_back(call: Calling, number: str) -> Response:
    """Send a job back to the technician with a reason."""
    sent = call.sent(ReasonIn)
    return call.write(
        lambda session: sending_back.send_back(session, call.actor, number, sent.reason, call.now)
    )


@route(
    "POST",
    "/jobs/{number}/answer",
    "jobs.answer",
    Described(sends=AnswerIn, answers=JobView, repeatable=True),
)
def answer_inspector(call: Calling, number: str) -> Response:
    """Answer why a job was sent back; it waits for the inspector again."""
    sent = call.sent(AnswerIn)
    return call.write(
        lambda session: sending_back.answer(session, call.actor, number, sent.answer, call.now)
    )
