"""Reading a form of which a part is wrong, so that the rest can be checked at the same time.

A person who filled in a long form wants to hear of everything that is wrong at once, also of
what only the records can tell about the fields that were right.
"""

from collections.abc import Mapping, Sequence
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from app.errors import Problem
from app.schemas.form import without_blanks
from app.schemas.problems import problems_from

Model = TypeVar("Model", bound=BaseModel)

MOST_PASSES = 8


def salvaged(model: type[Model], sent: object) -> tuple[Model | None, tuple[Problem, ...]]:
    """The model made of the fields that are right, and every problem of the others.

    None when not even that can be made: what was sent is no group of fields at all.
    """
    content, problems = without_blanks(sent), None
    for _ in range(MOST_PASSES):
        try:
            return model.model_validate(content), problems or ()
        except ValidationError as error:
            errors = error.errors(include_url=False)
        problems = tuple(problems_from(errors)) if problems is None else problems
        for one in errors:
            content = _without(content, _culprit(one))
    return None, problems or ()


def _culprit(error: Mapping[str, Any]) -> Sequence[int | str]:
    """Where the wrong value stands; of a missing field, the group that lacks it."""
    place: Sequence[int | str] = error["loc"]
    return place[:-1] if error["type"] == "missing" else place


def _without(content: object, place: Sequence[int | str]) -> object:
    if not place:
        return content
    first, rest = place[0], place[1:]
    if isinstance(content, dict) and first in content:
        kept = {key: value for key, value in content.items() if key != first}
        return {**kept, first: _without(content[first], rest)} if rest else kept
    # A list loses all of it: leaving one row out would move the numbers of the others.
    return {} if isinstance(content, dict) else []
