"""From what was sent to a model: the file formats' `format` key, then every field."""

from collections.abc import Mapping
from typing import TypeVar

from pydantic import BaseModel, ValidationError

from app.errors import Problem
from app.schemas.json_text import read_json, text_of
from app.schemas.problems import bad_input, piece, refused
from app.schemas.reference import REFERENCE_FORMAT, ReferenceIn
from app.schemas.survey import SURVEY_FORMAT, SurveyIn

Model = TypeVar("Model", bound=BaseModel)


def checked(model: type[Model], content: object) -> Model:
    """Return `content` as `model`; raises BadInput that lists every field that is wrong."""
    try:
        return model.model_validate(content)
    except ValidationError as error:
        raise bad_input(error) from None


def survey_from(content: object) -> SurveyIn:
    """Return a survey from decoded JSON; raises BadInput, `not_a_survey` when it is none."""
    _require_format(content, SURVEY_FORMAT, "not_a_survey", "points")
    return checked(SurveyIn, content)


def reference_from(content: object) -> ReferenceIn:
    """Return a reference from decoded JSON; raises BadInput, `not_a_reference` if it is none."""
    _require_format(content, REFERENCE_FORMAT, "not_a_reference", "characteristics")
    return checked(ReferenceIn, content)


def read_reference(content: bytes) -> ReferenceIn:
    """Return the reference in a file's bytes."""
    return reference_from(read_json(text_of(content)))


def _require_format(content: object, needed: str, code: str, key: str) -> None:
    if not isinstance(content, Mapping):
        raise refused([Problem(code, "", {"met": piece(content), "needed": needed})])
    if content.get("format") != needed:
        facts = {"met": piece(content.get("format")), "needed": needed}
        raise refused([Problem(code, "format", facts)])
    if key not in content:
        raise refused([Problem(code, key, {"met": None, "needed": needed})])
