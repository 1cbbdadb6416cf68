"""What `POST /solve` takes: a survey, a reference, and how it is to be judged."""

from typing import Annotated

from pydantic import Field

from app.schemas.reference import ReferenceIn
from app.schemas.sent import Flag, Line, Sent
from app.schemas.survey import SurveyIn
from app.schemas.trials import (
    HIGHEST_SEED,
    LEAST_DIGITS,
    LEAST_TRIALS,
    MOST_DIGITS,
    MOST_TRIALS_SENT,
    TrialsAsked,
)

LOWEST_THRESHOLD = 0.5
HIGHEST_THRESHOLD = 0.9999
Trials = Annotated[int, Field(strict=True, ge=LEAST_TRIALS, le=MOST_TRIALS_SENT)]
Seed = Annotated[int, Field(strict=True, ge=0, le=HIGHEST_SEED)]
Digits = Annotated[int, Field(strict=True, ge=LEAST_DIGITS, le=MOST_DIGITS)]


class SolveOptionsIn(Sent):
    threshold: Annotated[
        float,
        Field(strict=True, allow_inf_nan=False, ge=LOWEST_THRESHOLD, le=HIGHEST_THRESHOLD),
    ] = 0.95
    monte_carlo: Trials | None = None
    """How many trials; with `digits` at most how many."""
    seed: Seed | None = None
    digits: Digits | None = None
    """Enough when so many significant digits of every uncertainty stand still."""
    plan: Flag = False
    """Say which further point or station would help most."""

    @property
    def trials(self) -> TrialsAsked:
        return TrialsAsked(self.monte_carlo, self.seed, self.digits)


class SolveIn(Sent):
    survey: SurveyIn
    reference: ReferenceIn | None = None
    options: SolveOptionsIn = SolveOptionsIn.model_construct()
    called: Line | None = None
    """What the reference is called in the finding's sentence; else its make and model."""
