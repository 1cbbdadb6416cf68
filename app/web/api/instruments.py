"""Instruments and their calibrations through the API."""

from starlette.responses import Response

from app.schemas.instrument import CalibrationIn, InstrumentIn
from app.schemas.requests import NewInstrumentIn, ReasonIn
from app.services import calibrating, instruments
from app.services.instruments import InstrumentView
from app.web.api.call import Calling, answer
from app.web.api.described import Described, route
from app.web.api.listing import Limit, Offset, sliced


@route("GET", "/instruments", "instruments.read", Described(answers=InstrumentView, many=True))
def list_instruments(
    call: Calling, retired: bool = False, limit: Limit = 50, offset: Offset = 0
) -> Response:
    """Instruments by name; with `retired` also those taken out of use."""
    found = call.read(lambda session: instruments.listing(session, call.actor, retired))
    return sliced(call, found, limit, offset)


@route(
    "POST",
    "/instruments",
    "instruments.write",
    Described(sends=NewInstrumentIn, answers=InstrumentView, status=201, repeatable=True),
)
def add_instrument(call: Calling) -> Response:
    """Make a new instrument, with its calibration when it has one."""
    sent = call.sent(NewInstrumentIn)
    return call.write(
        lambda session: instruments.create(session, call.actor, sent, call.now, sent.calibration),
        201,
    )


@route("GET", "/instruments/{instrument_id}", "instruments.read", Described(answers=InstrumentView))
def read_instrument(call: Calling, instrument_id: int) -> Response:
    """One instrument with its calibrations."""
    return answer(call.read(lambda session: instruments.read(session, call.actor, instrument_id)))


@route(
    "PUT",
    "/instruments/{instrument_id}",
    "instruments.write",
    Described(sends=InstrumentIn, answers=InstrumentView, repeatable=True),
)
def change_instrument(call: Calling, instrument_id: int) -> Response:
    """Rename an instrument."""
    sent = call.sent(InstrumentIn)
    return call.write(
        lambda session: instruments.update(session, call.actor, instrument_id, sent, call.now)
    )


@route(
    "POST",
    "/instruments/{instrument_id}/calibrations",
    "instruments.write",
    Described(sends=CalibrationIn, answers=InstrumentView, status=201, repeatable=True),
)
def calibrate_instrument(call: Calling, instrument_id: int) -> Response:
    """Record a calibration; earlier ones are kept."""
    sent = call.sent(CalibrationIn)
    return call.write(
        lambda session: calibrating.calibrate(session, call.actor, instrument_id, sent, call.now),
        201,
    )


@route(
    "POST",
    "/instruments/{instrument_id}/retire",
    "instruments.write",
    Described(sends=ReasonIn, answers=InstrumentView, repeatable=True),
)
def retire_instrument(call: Calling, instrument_id: int) -> Response:
    """Take an instrument out of use; its surveys stay."""
    sent = call.sent(ReasonIn)
    return call.write(
        lambda session: instruments.retire(
            session, call.actor, instrument_id, sent.reason, call.now
        )
    )
