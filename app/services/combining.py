"""Several measurements together, and two compared: which share what is decided by names."""

from collections.abc import Hashable, Sequence
from typing import NamedTuple

from app.chassis import change as changes
from app.chassis.change import Changed
from app.chassis.combining import Combined, combined
from app.chassis.evaluate import evaluate
from app.chassis.refusals import combine_differs, combine_same
from app.chassis.result import Result
from app.chassis.sharing import Session
from app.chassis.survey import Options
from app.schemas.comparing import ChangedOut, ChangeOut, CombinedOut
from app.schemas.reference import ReferenceIn
from app.schemas.result import ResultOut
from app.schemas.survey import SurveyIn
from app.services.solving import in_words, reference_name, reference_to_engine, to_engine
from app.wording import changes as words
from app.wording.labels import characteristic as name_of

THE_MACHINE = "machine"
"""What is combined or compared is always one machine."""
THERMOMETER = "thermometer"


class Measured(NamedTuple):
    """A survey and what the engine made of it."""

    survey: SurveyIn
    result: Result


def evaluated(
    survey: SurveyIn, reference: ReferenceIn | None = None, threshold: float = 0.95
) -> Measured:
    """Evaluate a survey by first order, which is what combining goes by. Raises Refusal."""
    options = Options(threshold, monte_carlo=0, shared=True)
    return Measured(survey, evaluate(to_engine(survey), reference_to_engine(reference), options))


def combine(
    parts: Sequence[Measured], reference: ReferenceIn | None = None, called: str = ""
) -> ResultOut:
    """One result from several measurements of one phase.

    Raises Refusal `combine_too_few`, `combine_moved`, `combine_differs`, `combine_disagrees`.
    """
    made = _combined(parts, reference)
    name = called or (reference_name(reference) if reference else "")
    return {**in_words(made.result, name), "combined": _combined_out(made)}


def joined(parts: Sequence[Measured], reference: ReferenceIn | None = None) -> Measured:
    """The same as one measurement, to be compared with another. Raises as `combine` does."""
    return Measured(parts[0].survey, _combined(parts, reference).result)


def change(before: Measured, after: Measured) -> ChangeOut:
    """What changed from one measurement to the other.

    Raises Refusal `change_moved`, `change_differs`.
    """
    one, other = _to_compare(before), _to_compare(after)
    return {
        "same_instrument": one.instrument is not None and one.instrument == other.instrument,
        "characteristics": [_changed(item) for item in changes.change(one, other)],
    }


def _combined(parts: Sequence[Measured], reference: ReferenceIn | None) -> Combined:
    for number, part in enumerate(parts, 1):
        if part.survey.phase != parts[0].survey.phase:
            raise combine_differs("phase", number)
        for other, earlier in enumerate(parts[: number - 1], 1):
            if part.survey.points == earlier.survey.points:
                raise combine_same(number, other)
    names = [part.survey.instrument.name for part in parts]
    named = next((name for name in names if name is not None), "")
    return combined([_to_combine(part, named) for part in parts], reference_to_engine(reference))


def _to_combine(part: Measured, named: str) -> Session:
    """What may be shared counts as shared, so that nothing is averaged down that stays: an
    instrument without a name is that of the others, and one thermometer served all."""
    name = part.survey.instrument.name or named
    return Session(part.result, name, _rig(part), THE_MACHINE, THERMOMETER)


def _to_compare(part: Measured) -> Session:
    """Only what is surely the same drops out: an instrument by its name and calibration, and no
    reading of a thermometer."""
    instrument = part.survey.instrument
    identity = None if instrument.name is None else (instrument.name, instrument.calibrated)
    return Session(part.result, identity, _rig(part), THE_MACHINE, None)


def _rig(part: Measured) -> Hashable:
    """A rig is known by the spacings that are stated of it."""
    return tuple(sorted(part.survey.rig.target_spacing_mm)) or None


def _combined_out(made: Combined) -> CombinedOut:
    test = made.consistency
    return {
        "surveys": made.surveys,
        "statistic": None if test is None else test.statistic,
        "limit": None if test is None else test.limit,
        "degrees_of_freedom": None if test is None else test.degrees_of_freedom,
        "sentence": words.combined(
            made.surveys,
            None if test is None else test.statistic,
            None if test is None else test.limit,
        ),
    }


def _changed(item: Changed) -> ChangedOut:
    return {
        "key": item.key,
        "name": name_of(item.key),
        "unit": item.unit,
        "before": item.before,
        "after": item.after,
        "change": item.change,
        "standard_uncertainty": item.standard_uncertainty,
        "degrees_of_freedom": item.degrees_of_freedom,
        "expanded_uncertainty": item.expanded_uncertainty,
        "coverage_factor": item.coverage_factor,
        "significant": item.significant,
        "sense_code": item.sense_code,
        "sense": words.sentence(
            item.sense_code,
            item.change,
            item.unit,
            item.expanded_uncertainty,
            significant=item.significant,
        ),
    }
