"""Gauge studies of an instrument, and whether its axes are right-handed."""

from starlette.responses import Response

from app.schemas.gauge_study import GaugeStudyIn, gauge_study_from, read_gauge_study
from app.schemas.gauge_study_result import GaugeStudyOut
from app.schemas.survey import SurveyIn
from app.services import gauge_studies, handedness_checks
from app.services.gauge_evaluation import evaluated
from app.services.gauge_studies import GaugeStudyView
from app.services.handedness_checks import HandednessView
from app.web.api.call import CSV, JSON, Call, Calling, answer
from app.web.api.described import Described, route
from app.web.api.listing import Limit, Offset, sliced


@route(
    "POST",
    "/gauge-study",
    "solve",
    Described(sends=GaugeStudyIn, answers=GaugeStudyOut, media_types=(JSON, CSV)),
)
def evaluate_gauge_study(call: Calling) -> Response:
    """Evaluate a gauge study; nothing is stored."""
    return answer(evaluated(_study(call)))


@route(
    "GET",
    "/instruments/{instrument_id}/gauge-studies",
    "instruments.read",
    Described(answers=GaugeStudyView, many=True),
)
def list_gauge_studies(
    call: Calling, instrument_id: int, limit: Limit = 50, offset: Offset = 0
) -> Response:
    """Gauge studies of an instrument, newest first."""
    found = call.read(lambda session: gauge_studies.listing(session, call.actor, instrument_id))
    return sliced(call, found, limit, offset)


@route(
    "POST",
    "/instruments/{instrument_id}/gauge-studies",
    "instruments.check",
    Described(
        sends=GaugeStudyIn,
        answers=GaugeStudyView,
        status=201,
        repeatable=True,
        media_types=(JSON, CSV),
    ),
)
def record_gauge_study(call: Calling, instrument_id: int) -> Response:
    """Record a gauge study of an instrument, as JSON or as a table."""
    text = call.text(JSON, CSV)
    return call.write(
        lambda session: gauge_studies.record(session, call.actor, instrument_id, text, call.now),
        201,
    )


@route(
    "GET",
    "/instruments/{instrument_id}/gauge-studies/{study_id}",
    "instruments.read",
    Described(answers=GaugeStudyView),
)
def read_gauge_study_of(call: Calling, instrument_id: int, study_id: int) -> Response:
    """One gauge study of an instrument."""
    return answer(
        call.read(lambda session: gauge_studies.read(session, call.actor, instrument_id, study_id))
    )


@route(
    "GET",
    "/instruments/{instrument_id}/handedness",
    "instruments.read",
    Described(answers=HandednessView, many=True),
)
def list_handedness_checks(
    call: Calling, instrument_id: int, limit: Limit = 50, offset: Offset = 0
) -> Response:
    """Handedness checks of an instrument, newest first; the newest one stands."""
    found = call.read(lambda session: handedness_checks.listing(session, call.actor, instrument_id))
    return sliced(call, found, limit, offset)


@route(
    "POST",
    "/instruments/{instrument_id}/handedness",
    "instruments.check",
    Described(sends=SurveyIn, answers=HandednessView, status=201, repeatable=True),
)
def record_handedness_check(call: Calling, instrument_id: int) -> Response:
    """Record the steering turned to the known left: it shows whether the axes are right-handed."""
    text = call.text(JSON)
    return call.write(
        lambda session: handedness_checks.record(
            session, call.actor, instrument_id, text, call.now
        ),
        201,
    )


def _study(call: Call) -> GaugeStudyIn:
    if call.require_media_type(JSON, CSV) == CSV:
        return read_gauge_study(call.body)
    return gauge_study_from(call.document())
