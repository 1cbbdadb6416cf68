"""Errors of the API as problem details (RFC 9457)."""

from starlette.responses import JSONResponse

from app.errors import JigbookError
from app.web.problems import problems_of, status_of
from app.wording.errors import explain

MEDIA_TYPE = "application/problem+json"


def problem_details(error: JigbookError) -> JSONResponse:
    """What was met, needed and to do, for each single thing that is wrong."""
    body = {
        "type": "about:blank",
        "title": explain(error).met,
        "status": status_of(error),
        "detail": explain(error).sentence,
        "code": error.code,
        "errors": [
            {"code": one.code, "field": one.field, "message": explain(one).sentence}
            for one in problems_of(error)
        ],
    }
    return JSONResponse(body, status_of(error), media_type=MEDIA_TYPE)


def crash_details(reference: str) -> JSONResponse:
    """A mistake of the program: a number to quote, and no detail."""
    body = {"type": "about:blank", "title": "internal error", "status": 500, "code": "internal_error", "reference": reference}
    return JSONResponse(body, 500, media_type=MEDIA_TYPE)
