"""The evaluation of a full survey (every feature, 61 points) against that of a head survey."""

from app import resources
from app.benchmarks.engine_speed import head_survey
from app.benchmarks.ratio import Ratio
from app.benchmarks.timing import medians
from app.chassis.evaluate import evaluate
from app.chassis.survey import Reference, Survey
from app.schemas.reading import read_reference, read_survey
from app.services.solving import reference_to_engine, to_engine
from app.wording.translation import _

MOST = 3.0
REPEATS = 5
CHARACTERISTICS = 50
"""At least so many come out of the full survey, with the covariance between all of them."""


def full_survey(rounds: int) -> Ratio:
    """Arrays in, frozen result out, of both; the full one in every characteristic."""
    full, full_reference = whole_machine()
    head, head_reference = head_survey()
    seconds = medians(
        {
            "full": lambda: evaluate(full, full_reference),
            "head": lambda: evaluate(head, head_reference),
        },
        rounds,
        REPEATS,
    )
    return Ratio(
        what=_("full survey of 61 points, head survey of 17"),
        ours_s=seconds["full"],
        theirs_s=seconds["head"],
        target=MOST,
        at_least=False,
        same_answer=complete(full, full_reference),
    )


def complete(survey: Survey, reference: Reference) -> bool:
    """Whether every characteristic came out, with its covariances."""
    result = evaluate(survey, reference)
    count = len(result.characteristics)
    return count >= CHARACTERISTICS and result.covariance.shape == (count, count)


def whole_machine() -> tuple[Survey, Reference]:
    """The invented full survey and its reference, as the engine takes them."""
    files = resources.seed_data() / "benchmarks"
    survey = read_survey((files / "full_survey.json").read_bytes(), {})
    reference = read_reference((files / "full_reference.json").read_bytes())
    return to_engine(survey), reference_to_engine(reference)
