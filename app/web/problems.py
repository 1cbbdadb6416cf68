"""The one table from the program's own errors to HTTP status, for pages and API alike."""

from app.errors import (
    BadInput,
    Conflict,
    JigbookError,
    NotAllowed,
    NotFound,
    NotSignedIn,
    Problem,
    Refusal,
    RefusedToIssue,
    TooManyTries,
    Unavailable,
)

STATUS_OF_CODE = {
    "body_too_large": 413,
    "body_too_slow": 408,
    "claim_link_expired": 410,
    "claim_link_revoked": 410,
    "form_not_readable": 400,
    "host_not_served": 400,
    "method_not_allowed": 405,
    "wrong_media_type": 415,
    "wrong_password": 403,
}
STATUS_OF_CLASS: dict[type[JigbookError], int] = {
    BadInput: 422,
    Refusal: 422,
    NotSignedIn: 401,
    NotAllowed: 403,
    NotFound: 404,
    RefusedToIssue: 409,
    Conflict: 409,
    TooManyTries: 429,
    Unavailable: 503,
}


def status_of(error: JigbookError) -> int:
    """The HTTP status that tells a client what kind of error this is."""
    if error.code in STATUS_OF_CODE:
        return STATUS_OF_CODE[error.code]
    return next((STATUS_OF_CLASS[c] for c in type(error).mro() if c in STATUS_OF_CLASS), 500)


def extra_headers(error: JigbookError) -> dict[str, str]:
    """Headers that belong to the status."""
    wait = error.facts.get("retry_after_s")
    return {} if wait is None else {"Retry-After": str(wait)}


def problems_of(error: JigbookError) -> tuple[Problem, ...]:
    """Every single thing that is wrong, at least one."""
    if isinstance(error, BadInput):
        return error.problems
    if isinstance(error, RefusedToIssue):
        return error.reasons
    return (Problem(error.code, error.feature or "", error.facts),)
