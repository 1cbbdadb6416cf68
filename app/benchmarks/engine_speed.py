"""The whole evaluation of one head survey against SciPy's solver on the engine's own problem."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import Any
from unittest.mock import patch

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares

from app import resources
from app.benchmarks.ratio import Ratio
from app.benchmarks.timing import medians
from app.chassis.evaluate import evaluate
from app.chassis.survey import Reference, Survey
from app.metrology import estimation
from app.metrology.estimation import Estimate
from app.schemas.reading import read_reference, read_survey
from app.services.solving import reference_to_engine, to_engine
from app.wording.translation import _

Floats = NDArray[np.float64]

AT_LEAST = 5.0
EQUAL_TO = 1e-6
REPEATS = 30


@dataclass(frozen=True, slots=True)
class Solved:
    """What the engine's solver was given, and what it found."""

    residuals: Callable[[Floats], Floats]
    start: Floats
    parameters: Floats


def engine_speed(rounds: int) -> Ratio:
    """Arrays in, frozen result out, over `least_squares` (trf, 2-point) from the same start."""
    survey, reference = head_survey()
    solved = first_problem(survey, reference)
    scipy_solves = partial(least_squares, solved.residuals, solved.start, "2-point", method="trf")
    seconds = medians(
        {"evaluate": lambda: evaluate(survey, reference), "scipy": scipy_solves}, rounds, REPEATS
    )
    return Ratio(
        what=_("evaluation of 17 points, SciPy solver"),
        ours_s=seconds["evaluate"],
        theirs_s=seconds["scipy"],
        target=AT_LEAST,
        at_least=True,
        same_answer=equal(scipy_solves().x, solved.parameters),
    )


def equal(one: Floats, other: Floats) -> bool:
    """Whether two answers agree to 1e-6, of their size where it is over 1 (mm or rad)."""
    return bool(np.all(np.abs(one - other) <= EQUAL_TO * np.maximum(1.0, np.abs(other))))


def head_survey() -> tuple[Survey, Reference]:
    """The invented survey of 17 points and its reference, as the engine takes them."""
    files = resources.seed_data() / "benchmarks"
    survey = read_survey((files / "head_survey.json").read_bytes(), {})
    reference = read_reference((files / "reference.json").read_bytes())
    return to_engine(survey), reference_to_engine(reference)


def first_problem(survey: Survey, reference: Reference) -> Solved:
    """Evaluate once and keep the first problem that the engine's solver was given."""
    problems: list[Solved] = []
    solve = estimation.least_squares

    def listen(residuals: Any, jacobian: Any, start: Floats, **options: Any) -> Estimate:
        found = solve(residuals, jacobian, start, **options)
        problems.append(Solved(residuals, start.copy(), found.parameters.copy()))
        return found

    with patch.object(estimation, "least_squares", listen):
        evaluate(survey, reference)
    return problems[0]
