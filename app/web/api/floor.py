"""The steps of a measurement, through the API: for instruments that send each point as it comes,
and for programs that lead a person through them."""

from starlette.responses import Response

from app.schemas.floor import FloorActIn, LiveStepIn, RecordIn, RestartIn, TakeIn
from app.services import floor
from app.services.floor_views import Done, FloorView, News
from app.web.api.call import Calling, answer
from app.web.api.described import Described, route
from app.web.api.drafts import DRAFT


@route("GET", DRAFT + "/steps", "drafts.read", Described(answers=FloorView))
def read_steps(call: Calling, number: str, draft_id: int) -> Response:
    """All steps of a measurement, what is done of them and what was noticed."""
    return answer(call.read(lambda session: floor.road(session, call.actor, number, draft_id)))


@route(
    "POST",
    DRAFT + "/readings",
    "drafts.write",
    Described(sends=TakeIn, answers=Done, status=201, repeatable=True),
)
def take_readings(call: Calling, number: str, draft_id: int) -> Response:
    """Store readings of a step, or of the one that the tablet waits at.

    A tablet that resends under the same `request_key` stores nothing new, whoever is signed in.
    """
    sent = call.sent(TakeIn)
    readings = [one.model_dump(mode="json", exclude_unset=True) for one in sent.readings]
    if floor.measures_again(sent.step):
        # Worked out before the write lock is taken, so that nobody waits for the arithmetic.
        call.read(
            lambda session: floor.look_ahead(
                session, call.actor, number, draft_id, sent.step, readings
            )
        )
    return call.write(
        lambda session: floor.take(
            session, call.actor, number, draft_id, sent.step, readings, sent.request_key, call.now
        ),
        201,
    )


@route(
    "POST",
    DRAFT + "/records",
    "drafts.write",
    Described(sends=RecordIn, answers=Done, status=201, repeatable=True),
)
def record_step(call: Calling, number: str, draft_id: int) -> Response:
    """Store what a step without points says, and that it is done."""
    sent = call.sent(RecordIn)
    pieces: dict[str, object] = {}
    if sent.heading is not None:
        pieces |= sent.heading.model_dump(mode="json", exclude_unset=True)
    if sent.targets is not None:
        pieces[floor.TARGETS] = list(sent.targets)
    return call.write(
        lambda session: floor.record(
            session, call.actor, number, draft_id, sent.step, pieces, sent.request_key, call.now
        ),
        201,
    )


@route(
    "PUT",
    DRAFT + "/live-step",
    "drafts.write",
    Described(sends=LiveStepIn, answers=FloorView, repeatable=True),
)
def set_live_step(call: Calling, number: str, draft_id: int) -> Response:
    """Say where points go that an instrument sends without naming their step."""
    step = call.sent(LiveStepIn).step
    return call.write(
        lambda session: floor.aim(session, call.actor, number, draft_id, step, call.now)
    )


@route("GET", DRAFT + "/news", "drafts.read", Described(answers=News))
def read_news(
    call: Calling, number: str, draft_id: int, after: int = 0, since: int = 0
) -> Response:
    """What came since version `after`: points from id `since` on, and all that was noticed.

    `null` while nothing did.
    """
    return answer(
        call.read(lambda session: floor.news(session, call.actor, number, draft_id, after, since))
    )


@route(
    "POST",
    DRAFT + "/pause",
    "drafts.write",
    Described(sends=FloorActIn, answers=FloorView, repeatable=True),
)
def pause_draft(call: Calling, number: str, draft_id: int) -> Response:
    """Let a measurement rest; `repeats` says what will be measured again."""
    key = call.sent(FloorActIn).request_key
    return call.write(
        lambda session: floor.pause(session, call.actor, number, draft_id, key, call.now)
    )


@route(
    "POST",
    DRAFT + "/resume",
    "drafts.write",
    Described(sends=FloorActIn, answers=FloorView, repeatable=True),
)
def resume_draft(call: Calling, number: str, draft_id: int) -> Response:
    """Take it up again, with the datum first."""
    key = call.sent(FloorActIn).request_key
    return call.write(
        lambda session: floor.resume(session, call.actor, number, draft_id, key, call.now)
    )


@route(
    "POST",
    DRAFT + "/restart",
    "drafts.write",
    Described(sends=RestartIn, answers=FloorView, repeatable=True),
)
def restart_draft(call: Calling, number: str, draft_id: int) -> Response:
    """Discard what was measured before the set-up moved, and start again."""
    sent = call.sent(RestartIn)
    return call.write(
        lambda session: floor.restart_after_move(
            session, call.actor, number, draft_id, sent.scope, sent.request_key, call.now
        )
    )
