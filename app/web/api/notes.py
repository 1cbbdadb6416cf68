"""Notes and calls of a job through the API."""

from starlette.responses import Response

from app.schemas.note import CallIn, NoteIn
from app.services import notes
from app.services.calls_due import CallDue
from app.services.notes import NoteView
from app.web.api.call import Calling, answer
from app.web.api.described import Described, route
from app.web.api.listing import Limit, Offset, sliced


@route("GET", "/jobs/{number}/notes", "jobs.read", Described(answers=NoteView, many=True))
def list_notes(call: Calling, number: str, limit: Limit = 50, offset: Offset = 0) -> Response:
    """Notes and calls of a job, newest first."""
    found = call.read(lambda session: notes.listing(session, call.actor, number))
    return sliced(call, found, limit, offset)


@route(
    "POST",
    "/jobs/{number}/notes",
    "jobs.note",
    Described(sends=NoteIn, answers=NoteView, status=201, repeatable=True),
)
def add_note(call: Calling, number: str) -> Response:
    """Note something on a job, or that somebody is to be called about it."""
    sent = call.sent(NoteIn)
    return call.write(lambda session: notes.add(session, call.actor, number, sent, call.now), 201)


@route(
    "POST",
    "/jobs/{number}/calls",
    "jobs.note",
    Described(sends=CallIn, answers=NoteView, status=201, repeatable=True),
)
def note_call(call: Calling, number: str) -> Response:
    """Note a call that was made, and what came of it."""
    sent = call.sent(CallIn)
    return call.write(
        lambda session: notes.called(session, call.actor, number, sent, call.now), 201
    )


@route("GET", "/jobs/{number}/calls-due", "jobs.read", Described(answers=tuple[CallDue, ...]))
def calls_due(call: Calling, number: str) -> Response:
    """Who must be called about a job, and why."""
    day = call.now.astimezone().date()
    return answer(call.read(lambda session: notes.calls_of(session, call.actor, number, day)))
