"""A refused form is shown again as it was filled in, after the transaction was rolled back."""

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager

from fastapi import Request
from starlette.responses import Response

from app.errors import (
    BadInput,
    Conflict,
    NotAllowed,
    NotFound,
    NotSignedIn,
    Refusal,
    TooManyTries,
    Unavailable,
)
from app.web.form_state import FormState, refused_form
from app.web.problems import extra_headers, status_of
from app.web.rendering import Page, show
from app.web.visits import Visit

TOLD_ON_THE_FORM = (
    BadInput, Conflict, NotAllowed, NotFound, NotSignedIn, Refusal, TooManyTries, Unavailable,
)  # fmt: skip


class ShownAgain(Exception):
    """Carries the answer out of the route: raising it is what rolls the session back."""

    def __init__(self, answer: Response) -> None:
        super().__init__("a form is shown again")
        self.answer = answer


@contextmanager
def shown_again(
    request: Request,
    visit: Visit,
    values: Mapping[str, str],
    page: Callable[[FormState], Page],
    fields: tuple[str, ...] = (),
    otherwise: str | None = None,
) -> Iterator[None]:
    """What is refused inside is told on the page that `page` makes, beside its fields.

    `fields` are names that the page has besides those that were sent, such as unticked boxes;
    `otherwise` is the field that a problem is linked to which has none of its own.
    """
    try:
        yield
    except TOLD_ON_THE_FORM as error:
        state = refused_form(values, error, fields, otherwise)
        answer = show(request, visit, page(state), status_of(error))
        answer.headers.update(extra_headers(error))
        raise ShownAgain(answer) from error
