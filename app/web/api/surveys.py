"""Surveys through the API: submitted whole, as JSON or CSV, and read again as they were sent."""

from typing import Annotated

from fastapi import Query
from starlette.responses import Response

from app.errors import NotFound
from app.schemas.result import ResultOut
from app.schemas.survey import SurveyIn
from app.services import phase_results, surveys
from app.services.survey_views import Comparison, SurveyView
from app.web.api.call import CSV, JSON, Calling, answer
from app.web.api.described import Described, route
from app.web.api.listing import Limit, Offset, sliced

SURVEYS = "/jobs/{number}/surveys"


@route("GET", SURVEYS, "surveys.read", Described(answers=SurveyView, many=True))
def list_surveys(call: Calling, number: str, limit: Limit = 50, offset: Offset = 0) -> Response:
    """The surveys of a job in the order of submission."""
    found = call.read(lambda session: surveys.listing(session, call.actor, number))
    return sliced(call, found, limit, offset)


@route(
    "POST",
    SURVEYS,
    "surveys.submit",
    Described(
        sends=SurveyIn, answers=SurveyView, status=201, media_types=(JSON, CSV), repeatable=True
    ),
)
def submit_survey(
    call: Calling,
    number: str,
    phase: Annotated[str | None, Query(max_length=20)] = None,
    supersedes: Annotated[int | None, Query(ge=1)] = None,
    because: Annotated[str | None, Query(max_length=1000)] = None,
) -> Response:
    """Submit a survey; it is evaluated, and stored exactly as it was sent, or refused whole.

    `supersedes` is the number of the survey whose place it takes, `because` the reason.
    """
    text = call.text(JSON, CSV)
    known = call.answered()
    if known is not None:
        return known
    # Read and evaluated before the write lock is taken, so that nobody waits for the arithmetic.
    prepared = call.read(lambda session: surveys.prepare(session, call.actor, number, text, phase))
    return call.write(
        lambda session: surveys.store(session, call.actor, prepared, call.now, supersedes, because),
        201,
    )


@route("GET", SURVEYS + "/{survey}", "surveys.read", Described(answers=SurveyView))
def read_survey(call: Calling, number: str, survey: int) -> Response:
    """One survey of a job, with its result."""
    return answer(call.read(lambda session: surveys.read(session, call.actor, number, survey)))


@route("GET", "/jobs/{number}/comparison", "surveys.read", Described(answers=Comparison))
def compare_surveys(call: Calling, number: str) -> Response:
    """Before and after side by side."""
    found = call.read(lambda session: surveys.compare(session, call.actor, number))
    if found is None:
        raise NotFound("no_comparison", None, met=number)
    return answer(found)


@route("GET", "/jobs/{number}/combined/{phase}", "surveys.read", Described(answers=ResultOut))
def combine_surveys(call: Calling, number: str, phase: str) -> Response:
    """All standing surveys of one phase as one result; nothing is stored.

    Refused where a set-up moved, or where they contradict each other.
    """
    return answer(
        call.read(lambda session: phase_results.combined(session, call.actor, number, phase))
    )
