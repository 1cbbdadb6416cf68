"""The evaluation of a full survey (every feature, 61 points) against that of its head alone."""

from dataclasses import replace

from app import resources
from app.benchmarks.ratio import Ratio
from app.benchmarks.timing import medians
from app.chassis.evaluate import evaluate
from app.chassis.features import OF_THE_HEAD
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
    head, head_reference = head_alone(full), replace(full_reference, levelling="by_height")
    seconds = medians(
        {
            "full": lambda: evaluate(full, full_reference),
            "head": lambda: evaluate(head, head_reference),
        },
        rounds,
        REPEATS,
    )
    return Ratio(
        what=_("full survey of 61 points, its head alone"),
        ours_s=seconds["full"],
        theirs_s=seconds["head"],
        target=MOST,
        at_least=False,
        same_answer=complete(full, full_reference),
    )


def head_alone(survey: Survey) -> Survey:
    """The same without what was measured beyond the head."""
    kept = [i for i, feature in enumerate(survey.feature) if feature in OF_THE_HEAD]
    return replace(
        survey,
        feature=tuple(survey.feature[i] for i in kept),
        label=tuple(survey.label[i] for i in kept),
        station=tuple(survey.station[i] for i in kept),
        turn=tuple(survey.turn[i] for i in kept),
        xyz=survey.xyz[kept],
        u=survey.u[kept],
        offset=survey.offset[kept],
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
