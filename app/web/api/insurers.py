"""Insurers through the API: those to whom claims belong."""

from starlette.responses import Response

from app.schemas.insurer import InsurerIn
from app.services import insurers
from app.services.insurers import InsurerView
from app.web.api.call import Calling, answer
from app.web.api.described import Described, route
from app.web.api.listing import Limit, Offset, Words, listed

ALL = "/insurers"
ONE = "/insurers/{insurer_id}"


@route("GET", ALL, "insurers.read", Described(answers=InsurerView, many=True))
def list_insurers(
    call: Calling, search: Words = "", limit: Limit = 50, offset: Offset = 0
) -> Response:
    """Insurers by name; `search` looks in name, telephone and mail."""
    return listed(
        call,
        lambda most, start: call.read(
            lambda session: insurers.find(session, call.actor, search, most, start)
        ),
        limit,
        offset,
    )


@route(
    "POST",
    ALL,
    "insurers.write",
    Described(sends=InsurerIn, answers=InsurerView, status=201, repeatable=True),
)
def add_insurer(call: Calling) -> Response:
    """Make a new insurer."""
    sent = call.sent(InsurerIn)
    return call.write(lambda session: insurers.create(session, call.actor, sent, call.now), 201)


@route("GET", ONE, "insurers.read", Described(answers=InsurerView))
def read_insurer(call: Calling, insurer_id: int) -> Response:
    """One insurer."""
    return answer(call.read(lambda session: insurers.read(session, call.actor, insurer_id)))


@route(
    "PUT",
    ONE,
    "insurers.write",
    Described(sends=InsurerIn, answers=InsurerView, repeatable=True),
)
def change_insurer(call: Calling, insurer_id: int) -> Response:
    """Put new values in place of an insurer's old ones."""
    sent = call.sent(InsurerIn)
    return call.write(
        lambda session: insurers.update(session, call.actor, insurer_id, sent, call.now)
    )
