"""What every record sent by a page or by the API has in common: known keys, clean text."""

from typing import Annotated

from pydantic import Field, StringConstraints, model_validator
from pydantic.functional_validators import BeforeValidator
from pydantic_core import PydanticCustomError

from app.errors import Problem
from app.schemas.sent import LINE_PATTERN, Sent, wrong

ShortLine = Annotated[
    str,
    StringConstraints(strip_whitespace=True, min_length=1, max_length=80, pattern=LINE_PATTERN),
]
"""One line of at most 80 characters."""


def _whole(value: object) -> object:
    """Digits of a form or a JSON integer; `true`, 12.0 and "1e3" are not whole numbers here."""
    if isinstance(value, int) and not isinstance(value, bool):
        return value
    # Longer ones are no reading of anything, and turning them into a number takes long.
    if isinstance(value, str) and len(value.strip()) <= 18:
        digits = value.strip()
        if digits.isascii() and digits.isdigit():
            return int(digits)
    raise PydanticCustomError("int_type", "a whole number is digits only")


Whole = Annotated[int, BeforeValidator(_whole)]
"""A whole number, as JSON or as the digits of a form field."""


def _ticked(value: object) -> object:
    """A box that was ticked arrives as a text; one that was not does not arrive at all."""
    if isinstance(value, str) and value.strip() in {"on", "yes", "true", "1"}:
        return True
    return value


Ticked = Annotated[bool, Field(strict=True), BeforeValidator(_ticked)]
"""Yes or no, as JSON or as a ticked box."""

Identity = Annotated[Whole, Field(ge=1, le=2**31 - 1)]
"""The number by which the records know a thing."""


DEEPEST = 12
"""How deep lists and objects may lie in one another; no record goes deeper than four."""


def without_blanks(sent: object, levels: int = DEEPEST) -> object:
    """What was sent without the fields, rows and groups that were left empty."""
    if not isinstance(sent, dict | list | tuple):
        return sent
    if levels == 0:
        raise wrong(Problem("nested_too_deep", "", {"limit": DEEPEST}))
    if isinstance(sent, dict):
        cleaned = {key: without_blanks(value, levels - 1) for key, value in sent.items()}
        return {key: value for key, value in cleaned.items() if not _blank(value)}
    kept = [without_blanks(value, levels - 1) for value in sent]
    return [value for value in kept if not _blank(value)]


def _blank(value: object) -> bool:
    return value is None or value == {} or (isinstance(value, str) and not value.strip())


class Form(Sent):
    """Base of what a page or the API sends to make or change a record.

    A field left empty in a form arrives as an empty text: it is the same as a field not sent.
    """

    @model_validator(mode="before")
    @classmethod
    def _empty_is_absent(cls, sent: object) -> object:
        return without_blanks(sent)
