"""What every record sent by a page or by the API has in common: known keys, clean text."""

import unicodedata
from typing import Annotated, Any

from pydantic import AfterValidator, BaseModel, ConfigDict, StringConstraints, model_validator
from pydantic_core import PydanticCustomError


def _printable(text: str, allowed: str = "") -> str:
    """Refuses control characters, which would break a line of a list, a log or a PDF."""
    for character in text:
        if character not in allowed and unicodedata.category(character) in {"Cc", "Cs", "Co", "Cn"}:
            raise PydanticCustomError(
                "not_printable", "not printable", {"code_point": f"U+{ord(character):04X}"}
            )
    return text


def printable_line(text: str) -> str:
    return _printable(text)


def printable_paragraph(text: str) -> str:
    return _printable(text.replace("\r\n", "\n"), "\n\t")


Line = Annotated[
    str,
    StringConstraints(strip_whitespace=True, min_length=1, max_length=200),
    AfterValidator(printable_line),
]
"""One line of text, 1 to 200 characters."""

Paragraph = Annotated[
    str,
    StringConstraints(strip_whitespace=True, min_length=1, max_length=4000),
    AfterValidator(printable_paragraph),
]
"""Text of several lines, 1 to 4000 characters."""


class Form(BaseModel):
    """Base of what a page or the API sends to make or change a record.

    A field left empty in a form arrives as an empty string: it is the same as a field not sent.
    """

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)

    @model_validator(mode="before")
    @classmethod
    def _empty_is_absent(cls, sent: Any) -> Any:
        if not isinstance(sent, dict):
            return sent
        return {
            key: value
            for key, value in sent.items()
            if not (value is None or (isinstance(value, str) and not value.strip()))
        }
