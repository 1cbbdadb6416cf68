"""Errors of the API as problem details (RFC 9457)."""

from http import HTTPStatus
from typing import Any

from starlette.responses import JSONResponse

from app.errors import JigbookError
from app.web.problems import problems_of, status_of
from app.wording.errors import explain

MEDIA_TYPE = "application/problem+json"


def problem_details(error: JigbookError) -> JSONResponse:
    """What was met, needed and to do, for each single thing that is wrong."""
    status = status_of(error)
    body = {
        **_beginning(status, error.code),
        "detail": explain(error).sentence,
        "errors": [
            {"code": one.code, "field": one.field, "message": explain(one).sentence}
            for one in problems_of(error)
        ],
    }
    headers = {"WWW-Authenticate": "Bearer"} if status == HTTPStatus.UNAUTHORIZED else None
    return JSONResponse(body, status, headers, MEDIA_TYPE)


def crash_details(reference: str) -> JSONResponse:
    """A mistake of the program: a number to quote, and no detail."""
    body = {**_beginning(500, "internal_error"), "errors": [], "reference": reference}
    body["detail"] = f"the program failed; its log has the details under {reference}"
    return JSONResponse(body, 500, media_type=MEDIA_TYPE)


def _beginning(status: int, code: str) -> dict[str, Any]:
    """A problem of type `about:blank` bears the title of its status (RFC 9457, 4.2.1)."""
    title = HTTPStatus(status).phrase
    return {"type": "about:blank", "title": title, "status": status, "code": code}
