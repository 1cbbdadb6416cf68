"""From what was sent to a model: the file formats' `format` key, then every field."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import TypeVar

from pydantic import BaseModel, ValidationError

from app.errors import BadInput, Problem
from app.schemas.json_text import read_json, text_of
from app.schemas.problems import bad_input, piece, refused
from app.schemas.reference import REFERENCE_FORMAT, ReferenceIn
from app.schemas.survey import SURVEY_FORMAT, SurveyIn
from app.schemas.survey_csv import placed_by_row, rows_from_csv

Model = TypeVar("Model", bound=BaseModel)
NOTHING: Mapping[str, object] = MappingProxyType({})


def checked(model: type[Model], content: object) -> Model:
    """Return `content` as `model`; raises BadInput that lists every field that is wrong."""
    try:
        return model.model_validate(content)
    except ValidationError as error:
        raise bad_input(error) from None


def survey_from(content: object) -> SurveyIn:
    """Return a survey from decoded JSON; raises BadInput, `not_a_survey` when it is none."""
    require_format(content, SURVEY_FORMAT, "not_a_survey", "points")
    return checked(SurveyIn, content)


def reference_from(content: object) -> ReferenceIn:
    """Return a reference from decoded JSON; raises BadInput, `not_a_reference` if it is none."""
    require_format(content, REFERENCE_FORMAT, "not_a_reference", "characteristics")
    return checked(ReferenceIn, content)


def read_survey(content: bytes, beside: Mapping[str, object] = NOTHING) -> SurveyIn:
    """Return the survey in a file's bytes, JSON or CSV.

    `beside` holds what a CSV file cannot say: `up`, `part_temperature_c`, `instrument` …
    """
    text = text_of(content)
    if is_json(text):
        return survey_from(read_json(text))
    return survey_from_csv(text, beside)


def is_json(text: str) -> bool:
    return text.lstrip()[:1] in {"{", "["}


def survey_from_csv(text: str, beside: Mapping[str, object] = NOTHING) -> SurveyIn:
    """Return the survey in CSV text; raises BadInput that names every wrong cell by its row."""
    rows = rows_from_csv(text)
    points = [point for _, point in rows]
    try:
        return checked(SurveyIn, {"format": SURVEY_FORMAT, **beside, "points": points})
    except BadInput as error:
        raise placed_by_row(error, rows) from None


def read_reference(content: bytes) -> ReferenceIn:
    """Return the reference in a file's bytes."""
    return reference_from(read_json(text_of(content)))


def require_format(content: object, needed: str, code: str, key: str) -> None:
    """Raise BadInput `code` when a document has not this `format`, or not this `key`."""
    if not isinstance(content, Mapping):
        raise refused([Problem(code, "", {"met": piece(content), "needed": needed})])
    if content.get("format") != needed:
        facts = {"met": piece(content.get("format")), "needed": needed}
        raise refused([Problem(code, "format", facts)])
    if key not in content:
        raise refused([Problem(code, key, {"met": None, "needed": needed})])
