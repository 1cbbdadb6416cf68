"""Words that a person gives with an act: a reason, a note. Never empty, never a novel."""

from collections.abc import Callable

from pydantic import ConfigDict, TypeAdapter, ValidationError

from app.errors import BadInput, Problem
from app.schemas.problems import problems_from, refused
from app.schemas.sent import Line, Prose

_PROSE: TypeAdapter[str] = TypeAdapter(Prose, config=ConfigDict(hide_input_in_errors=True))
_LINE: TypeAdapter[str] = TypeAdapter(Line, config=ConfigDict(hide_input_in_errors=True))


def words(text: object, field: str) -> str:
    """The text without the space around it; None is as good as empty.

    Raises BadInput for this field.
    """
    return _checked(_PROSE, text, field)


def line(text: object, field: str) -> str:
    """The same for one line. Raises BadInput for this field."""
    return _checked(_LINE, text, field)


def require_all(*checks: Callable[[], object]) -> None:
    """Run all checks, so that whatever is wrong is told at once. Raises BadInput."""
    wrong: list[Problem] = []
    for check in checks:
        try:
            check()
        except BadInput as error:
            wrong += error.problems
    if wrong:
        raise refused(wrong)


def _checked(adapter: TypeAdapter[str], text: object, field: str) -> str:
    try:
        return adapter.validate_python("" if text is None else text)
    except ValidationError as error:
        placed = [{**one, "loc": (field,)} for one in error.errors(include_url=False)]
        raise refused(problems_from(placed)) from None
