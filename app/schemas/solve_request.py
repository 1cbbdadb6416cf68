"""What `POST /solve` takes: a survey, a reference, and how it is to be judged."""

from typing import Annotated, Self

from pydantic import Field
from pydantic.functional_validators import model_validator

from app.errors import Problem
from app.schemas.reference import ReferenceIn
from app.schemas.sent import Flag, Line, Sent, require_sound
from app.schemas.survey import SurveyIn

LOWEST_THRESHOLD = 0.5
HIGHEST_THRESHOLD = 0.9999
NOT_YET = ("monte_carlo", "seed", "plan")

Whole = Annotated[int, Field(strict=True, ge=0, le=2**53)]


class SolveOptionsIn(Sent):
    """`monte_carlo`, `seed` and `plan` are known and refused, so that none is taken for done."""

    threshold: Annotated[
        float,
        Field(strict=True, allow_inf_nan=False, ge=LOWEST_THRESHOLD, le=HIGHEST_THRESHOLD),
    ] = 0.95
    monte_carlo: Whole | None = None
    seed: Whole | None = None
    plan: Flag = False

    @model_validator(mode="after")
    def _only_what_can_be_done(self) -> Self:
        require_sound(
            [Problem("not_available_yet", key, {"met": key}) for key in NOT_YET if self._asks(key)]
        )
        return self

    def _asks(self, key: str) -> bool:
        value = getattr(self, key)
        return value is not None and value is not False


class SolveIn(Sent):
    survey: SurveyIn
    reference: ReferenceIn | None = None
    options: SolveOptionsIn = SolveOptionsIn.model_construct()
    called: Line | None = None
    """What the reference is called in the finding's sentence; else its make and model."""
