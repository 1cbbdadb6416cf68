"""Check bars, and the readings that show whether an instrument still reads right."""

from starlette.responses import Response

from app.schemas.check_bar import BarReadingIn, CheckBarIn, ExplanationIn
from app.services import check_bars
from app.services.check_bars import BarReadingView, CheckBarLog, CheckBarView
from app.web.api.call import Calling, answer
from app.web.api.described import Described, route
from app.web.api.listing import Limit, Offset, sliced


@route("GET", "/check-bars", "instruments.read", Described(answers=CheckBarView, many=True))
def list_check_bars(call: Calling, limit: Limit = 50, offset: Offset = 0) -> Response:
    """Bars of known length by name, each calibration a line of its own, the newest first."""
    found = call.read(lambda session: check_bars.bars(session, call.actor))
    return sliced(call, found, limit, offset)


@route(
    "POST",
    "/check-bars",
    "instruments.write",
    Described(sends=CheckBarIn, answers=CheckBarView, status=201, repeatable=True),
)
def add_check_bar(call: Calling) -> Response:
    """Record a bar of known length, or a later calibration of it."""
    sent = call.sent(CheckBarIn)
    return call.write(lambda session: check_bars.add_bar(session, call.actor, sent, call.now), 201)


@route(
    "GET",
    "/instruments/{instrument_id}/check-bar",
    "instruments.read",
    Described(answers=CheckBarLog),
)
def read_check_bar_log(
    call: Calling, instrument_id: int, limit: Limit = 50, offset: Offset = 0
) -> Response:
    """Whether the instrument is in control, and its readings with the chart that judged each."""
    return answer(
        call.read(lambda session: check_bars.log(session, call.actor, instrument_id, limit, offset))
    )


@route(
    "POST",
    "/instruments/{instrument_id}/check-bar",
    "instruments.check",
    Described(sends=BarReadingIn, answers=BarReadingView, status=201, repeatable=True),
)
def record_check_bar_reading(call: Calling, instrument_id: int) -> Response:
    """Record the bar measured with the instrument; out of control, nothing is certified with it."""
    sent = call.sent(BarReadingIn)
    return call.write(
        lambda session: check_bars.record_reading(
            session, call.actor, instrument_id, sent, call.now
        ),
        201,
    )


@route(
    "POST",
    "/instruments/{instrument_id}/check-bar/{reading_id}/explanation",
    "instruments.explain",
    Described(sends=ExplanationIn, answers=BarReadingView, status=201, repeatable=True),
)
def explain_check_bar_reading(call: Calling, instrument_id: int, reading_id: int) -> Response:
    """Say why a reading was out of control."""
    sent = call.sent(ExplanationIn)
    return call.write(
        lambda session: check_bars.explain(
            session, call.actor, instrument_id, reading_id, sent, call.now
        ),
        201,
    )
