"""References and their revisions through the API."""

from starlette.responses import Response

from app.schemas.reference import ReferenceIn
from app.services import references
from app.services.references import ReferenceView, RevisionView
from app.web.api.call import JSON, Calling, answer
from app.web.api.described import Described, route
from app.web.api.listing import Limit, Offset, Words, listed


@route("GET", "/references", "references.read", Described(answers=ReferenceView, many=True))
def list_references(
    call: Calling, search: Words = "", limit: Limit = 50, offset: Offset = 0
) -> Response:
    """References by name; `search` looks in make, model and years."""
    return listed(
        call,
        lambda most, start: call.read(
            lambda session: references.find(session, call.actor, search, most, start)
        ),
        limit,
        offset,
    )


@route(
    "POST",
    "/references",
    "references.write",
    Described(sends=ReferenceIn, answers=ReferenceView, status=201, repeatable=True),
)
def add_reference(call: Calling) -> Response:
    """Make a new reference; its text is kept exactly as it was sent."""
    text = call.text(JSON)
    return call.write(lambda session: references.create(session, call.actor, text, call.now), 201)


@route("GET", "/references/{reference_id}", "references.read", Described(answers=ReferenceView))
def read_reference(call: Calling, reference_id: int) -> Response:
    """One reference, with its latest revision."""
    return answer(call.read(lambda session: references.read(session, call.actor, reference_id)))


@route(
    "POST",
    "/references/{reference_id}/revisions",
    "references.write",
    Described(sends=ReferenceIn, answers=ReferenceView, status=201, repeatable=True),
)
def revise_reference(call: Calling, reference_id: int) -> Response:
    """Make the next revision; earlier ones stay as they are."""
    text = call.text(JSON)
    return call.write(
        lambda session: references.revise(session, call.actor, reference_id, text, call.now),
        201,
    )


@route(
    "GET",
    "/references/{reference_id}/revisions/{revision}",
    "references.read",
    Described(answers=RevisionView),
)
def read_revision(call: Calling, reference_id: int, revision: int) -> Response:
    """One revision of a reference."""
    return answer(
        call.read(
            lambda session: references.read_revision(session, call.actor, reference_id, revision)
        )
    )
