"""What `solve` does beyond one survey by itself: it plans, combines and compares."""

from collections.abc import Sequence

from app.cli.solve import Answer, Asked, NotYet, read
from app.errors import JigbookError, Refusal
from app.schemas.survey import SurveyIn
from app.services import combining, planning
from app.services.combining import Measured
from app.services.solving import solve


def answers(names: Sequence[str], asked: Asked) -> list[Answer]:
    """One answer for each survey, or with `combine` one for all of them.

    Raises JigbookError when the survey to compare with is refused.
    """
    before = None if asked.change is None else _measured(asked.change, asked)
    if asked.combine:
        return [_combined(names, asked, before)]
    return [_answer(name, asked, before) for name in names]


def _answer(name: str, asked: Asked, before: Measured | None) -> Answer:
    try:
        survey = read(name, asked.beside)
        made = _solved(survey, asked)
        if before is not None and isinstance(made, dict):
            after = combining.evaluated(survey, asked.reference, asked.threshold)
            made["change"] = combining.change(before, after)
    except JigbookError as error:
        return error
    return made


def _solved(survey: SurveyIn, asked: Asked) -> Answer:
    """With the plan, where that is asked for; also where more points are needed first."""
    try:
        result = solve(survey, asked.reference, asked.threshold, trials=asked.trials)
    except Refusal as refusal:
        if not asked.plan:
            raise
        return NotYet(refusal, planning.plan(survey, asked.reference, asked.threshold))
    if asked.plan:
        result["plan"] = planning.plan(survey, asked.reference, asked.threshold)
    return result


def _combined(names: Sequence[str], asked: Asked, before: Measured | None) -> Answer:
    try:
        parts = [_measured(name, asked) for name in names]
        result = combining.combine(parts, asked.reference)
        if before is not None:
            after = combining.joined(parts, asked.reference)
            result["change"] = combining.change(before, after)
    except JigbookError as error:
        return error
    return result


def _measured(name: str, asked: Asked) -> Measured:
    return combining.evaluated(read(name, asked.beside), asked.reference, asked.threshold)
