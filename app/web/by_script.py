"""Forms that the page's own script sends: the same route and the same words, told as JSON."""

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager

from fastapi import Request
from starlette.responses import JSONResponse, RedirectResponse, Response

from app.errors import JigbookError
from app.web.again import TOLD_ON_THE_FORM, ShownAgain, shown_again
from app.web.form_state import FormState, refused_form
from app.web.problems import extra_headers, status_of
from app.web.rendering import Page
from app.web.visits import Visit


def wants_json(request: Request) -> bool:
    """Whether the page's script asks, which shows the answer by itself."""
    return request.headers.get("accept", "").startswith("application/json")


def gone_on(request: Request, path: str) -> Response:
    """After something was done: on to this page, or its address for the script."""
    if wants_json(request):
        return JSONResponse({"saved": True, "plausible": True, "told": [], "next": path})
    return RedirectResponse(path, status_code=303)


@contextmanager
def told_back(
    request: Request,
    visit: Visit,
    values: Mapping[str, str],
    page: Callable[[FormState], Page],
    fields: tuple[str, ...] = (),
    otherwise: str | None = None,
) -> Iterator[None]:
    """As `shown_again`; the script is told the same words beside the names of their fields."""
    if not wants_json(request):
        with shown_again(request, visit, values, page, fields, otherwise):
            yield
        return
    try:
        yield
    except TOLD_ON_THE_FORM as error:
        raise ShownAgain(refused(values, error, fields, otherwise)) from error


def refused(
    values: Mapping[str, str],
    error: JigbookError,
    fields: tuple[str, ...] = (),
    otherwise: str | None = None,
) -> Response:
    """What is wrong, as JSON."""
    state = refused_form(values, error, fields, otherwise)
    errors = [{"field": one.anchor or one.field, "message": one.message} for one in state.errors]
    answer = JSONResponse({"saved": False, "errors": errors}, status_of(error))
    answer.headers.update(extra_headers(error))
    return answer
