"""Photos in a form: made ready before any session that writes is open."""

from fastapi import Request

from app.errors import BadInput, JigbookError, Problem
from app.schemas.photo import MOST_AT_ONCE
from app.services.darkroom import Darkroom
from app.services.prepared_photo import PreparedPhoto
from app.web.forms import Form

FIELD = "photo"


def prepared_from(request: Request, form: Form, field: str = FIELD) -> tuple[PreparedPhoto, ...]:
    """Every photo that was chosen for the field, ready to be kept; none when none was chosen.

    Raises BadInput for the field: `too_many_photos_at_once`, or as `Darkroom.prepare`.
    """
    sent = form.files_of(field)
    if len(sent) > MOST_AT_ONCE:
        facts = {"met": len(sent), "limit": MOST_AT_ONCE}
        problem = Problem("too_many_photos_at_once", field, facts)
        raise BadInput([problem], problem.code)
    darkroom: Darkroom = request.app.state.darkroom
    return darkroom.prepare_all([file.content for file in sent], field)


def some_from(request: Request, form: Form, field: str = FIELD) -> tuple[PreparedPhoto, ...]:
    """The same where at least one is needed. Raises also `no_photo_chosen`."""
    found = prepared_from(request, form, field)
    if not found:
        raise BadInput([Problem("no_photo_chosen", field)], "no_photo_chosen")
    return found


def prepared_one_by_one(
    request: Request, form: Form, field: str = FIELD
) -> tuple[tuple[PreparedPhoto, ...], tuple[int, ...]]:
    """Those that are ready to be kept, and the places (1, 2, 3 …) of those that cannot be."""
    darkroom: Darkroom = request.app.state.darkroom
    ready: list[PreparedPhoto] = []
    left_out: list[int] = []
    for place, file in enumerate(form.files_of(field), start=1):
        if len(ready) == MOST_AT_ONCE:
            left_out.append(place)
            continue
        try:
            ready.append(darkroom.prepare(file.content, field))
        except JigbookError:
            left_out.append(place)
    return tuple(ready), tuple(left_out)
