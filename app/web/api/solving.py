"""Health, the file formats, and evaluating a survey without storing anything."""

from starlette.responses import Response

from app.schemas.check_bar_log import CheckBarLogIn, CheckBarResultOut
from app.schemas.gauge_study import GaugeStudyIn
from app.schemas.gauge_study_result import GaugeStudyOut
from app.schemas.machine_reference import ReferenceReportOut
from app.schemas.reference import ReferenceIn
from app.schemas.register import RegisterFileOut
from app.schemas.result import ResultOut
from app.schemas.solve_request import SolveIn
from app.schemas.survey import SurveyIn
from app.services.planning import plan
from app.services.register import CertificateData
from app.services.solving import solve
from app.web.api.call import Calling, answer
from app.web.api.described import OPEN, Described, route
from app.web.api.description import described, schema_of
from app.web.api.listing import page

FORMATS = {
    "survey": SurveyIn,
    "reference": ReferenceIn,
    "result": ResultOut,
    "check_bar": CheckBarLogIn,
    "check_bar_result": CheckBarResultOut,
    "gauge_study": GaugeStudyIn,
    "gauge_study_result": GaugeStudyOut,
    "reference_report": ReferenceReportOut,
    "certificate": CertificateData,
    "register": RegisterFileOut,
}


@route("GET", "/health", OPEN, Described(answers=dict[str, str]))
def health(call: Calling) -> Response:
    """Say that the program runs and its records answer."""
    call.database.ping()
    return answer({"status": "ok"})


@route("GET", "/openapi.json", OPEN, Described(answers=dict[str, object]))
def openapi(call: Calling) -> Response:
    """This description, as OpenAPI."""
    return answer(described())


@route("GET", "/schemas", OPEN, Described(answers=str, many=True))
def formats(call: Calling) -> Response:
    """The names of the file formats."""
    return page(call, list(FORMATS), len(FORMATS), 0, more=False)


@route("GET", "/schemas/{format}", OPEN, Described(answers=dict[str, object]))
def schema(call: Calling, format: str) -> Response:  # noqa: A002
    """A file format as a JSON schema."""
    return answer(schema_of(format, FORMATS))


@route("POST", "/solve", "solve", Described(sends=SolveIn, answers=ResultOut))
def solve_survey(call: Calling) -> Response:
    """Evaluate a survey against a reference; nothing is stored."""
    sent = call.sent(SolveIn)
    options = sent.options
    called, trials = sent.called or "", options.trials
    result = solve(sent.survey, sent.reference, options.threshold, called, trials)
    if options.plan:
        result["plan"] = plan(sent.survey, sent.reference, options.threshold)
    return answer(result)
