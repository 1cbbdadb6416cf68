"""The building blocks of everything that may be sent: strict numbers, names, texts, days.

A number is a JSON number and nothing else: the text "412,5" or a `true` that slips through as a
number would change a measurement without a word.
"""

from collections.abc import Sequence
from datetime import date, datetime
from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field
from pydantic.functional_validators import AfterValidator, BeforeValidator
from pydantic_core import PydanticCustomError

from app.errors import Problem

NAME_PATTERN = r"^[a-z0-9_]+$"
# Control characters break PostgreSQL texts, log lines and PDF strings; marks that turn the writing
# round make a name read as another one, and a separator is a line break that nobody sees.
UNSEEN = r"\x7f-\x9f\u061c\u200b\u200e\u200f\u2028-\u202e\u2060-\u206f\ufeff\ufff9-\ufffb"
LINE_PATTERN = rf"^[^\x00-\x1f{UNSEEN}]*$"
PROSE_UNFIT = rf"\x00-\x08\x0b\x0c\x0e-\x1f{UNSEEN}"
PROSE_PATTERN = rf"^[^{PROSE_UNFIT}]*$"

EARLIEST_YEAR, LATEST_YEAR = 1990, 2200

LARGEST_COORDINATE_MM = 1e7
SMALLEST_U_MM = 1e-6
LARGEST_U_MM = 1e3


class Sent(BaseModel):
    """Base of all models of what is sent: unknown keys are refused, nothing changes later.

    Building is deferred, so that a command builds the one schema it needs and no part twice.
    """

    model_config = ConfigDict(
        extra="forbid", frozen=True, hide_input_in_errors=True, defer_build=True
    )


def wrong(*problems: Problem) -> PydanticCustomError:
    """Make the error with which a validator reports problems of our own.

    The fields of the problems are relative to the model whose validator raises it.
    """
    return PydanticCustomError("jigbook", "{code}", {"code": problems[0].code, "ours": problems})


def require_sound(problems: Sequence[Problem]) -> None:
    if problems:
        raise wrong(*problems)


def _only_text(value: object) -> object:
    # Pydantic would read a bare number as seconds since 1970.
    if isinstance(value, str | date):
        return value
    raise PydanticCustomError("date_type", "a day or time is sent as text")


def _with_zone(value: datetime) -> datetime:
    if value.tzinfo is None:
        raise PydanticCustomError("timezone_aware", "a time needs its distance from UTC")
    return value


def _within_years(value: date) -> date:
    # At the ends of the calendar a time could not even be brought to UTC.
    if EARLIEST_YEAR <= value.year <= LATEST_YEAR:
        return value
    facts = {"met": value.year, "earliest": EARLIEST_YEAR, "latest": LATEST_YEAR}
    raise wrong(Problem("year_out_of_range", "", facts))


def _stripped(value: object) -> object:
    return value.strip() if isinstance(value, str) else value


Number = Annotated[float, Field(strict=True, allow_inf_nan=False, ge=-1e9, le=1e9)]
Coordinate = Annotated[
    float,
    Field(strict=True, allow_inf_nan=False, ge=-LARGEST_COORDINATE_MM, le=LARGEST_COORDINATE_MM),
]
NotNegative = Annotated[float, Field(strict=True, allow_inf_nan=False, ge=0.0, le=1e6)]
Positive = Annotated[float, Field(strict=True, allow_inf_nan=False, gt=0.0, le=1e6)]
Uncertainty = Annotated[
    float, Field(strict=True, allow_inf_nan=False, ge=SMALLEST_U_MM, le=LARGEST_U_MM)
]
Degrees = Annotated[float, Field(strict=True, allow_inf_nan=False, ge=-180.0, le=180.0)]
Celsius = Annotated[float, Field(strict=True, allow_inf_nan=False, ge=-60.0, le=120.0)]
PerKelvin = Annotated[float, Field(strict=True, allow_inf_nan=False, ge=-1e-3, le=1e-3)]
PerKelvinU = Annotated[float, Field(strict=True, allow_inf_nan=False, ge=0.0, le=1e-3)]
Flag = Annotated[bool, Field(strict=True)]

Name = Annotated[str, Field(pattern=NAME_PATTERN, max_length=60)]
Line = Annotated[
    str,
    BeforeValidator(_stripped),
    Field(min_length=1, max_length=200, pattern=LINE_PATTERN),
]
Prose = Annotated[
    str,
    BeforeValidator(_stripped),
    Field(min_length=1, max_length=4000, pattern=PROSE_PATTERN),
]
_YEARS = f"of the years {EARLIEST_YEAR} to {LATEST_YEAR}"
Day = Annotated[
    date, BeforeValidator(_only_text), AfterValidator(_within_years), Field(description=_YEARS)
]
Moment = Annotated[
    datetime,
    BeforeValidator(_only_text),
    AfterValidator(_within_years),
    AfterValidator(_with_zone),
    Field(description=_YEARS),
]
