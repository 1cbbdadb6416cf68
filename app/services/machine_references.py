"""References from machines in order: surveys in, a reference and its report out. No records."""

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from app.chassis.evaluate import evaluate
from app.chassis.machines_in_order import FEWEST, Described, Measured, Model, described
from app.chassis.result import ENGINE_VERSION, Result
from app.chassis.senses import sense_code
from app.chassis.survey import Options
from app.errors import JigbookError, Problem, Refusal
from app.schemas.characteristic_keys import CONTROL_KEY
from app.schemas.machine_reference import (
    MOST_LEFT_OUT,
    MachineReferenceOut,
    MachineStatisticsOut,
    MachineValueOut,
    StatisticsIn,
)
from app.schemas.problems import refused
from app.schemas.reference import MachineModelIn, ReferenceIn
from app.schemas.survey import SurveyIn
from app.services.machine_reference_document import document, with_points_moved
from app.services.machine_reference_warnings import narrower_than_measuring, warnings_of
from app.services.solving import reference_to_engine, to_engine
from app.wording import machine_references as words
from app.wording import senses
from app.wording.errors import explain
from app.wording.labels import characteristic
from app.wording.numbers import places


class Machine(NamedTuple):
    """A machine's survey; `left_out_because`: why it counts for nothing but is told."""

    name: str
    survey: SurveyIn
    left_out_because: str | None = None


def from_machines(
    machines: Sequence[Machine],
    base: ReferenceIn | None,
    model: MachineModelIn | None,
    statistics: StatisticsIn,
) -> MachineReferenceOut:
    """Evaluate every survey against `base` and describe the model behind them.

    base: levelling, materials, control points … of the reference to be; model: make, model and
    years, else those of `base`. Raises BadInput `too_few_machines`, `machine_named_twice`,
    `survey_twice`, `too_many_left_out`, `set_up_moved_on`, `machine_refused`; each problem names
    the survey.
    """
    _require_different(machines)
    results = _evaluated(machines, base)
    kept, found = _described(machines, results, statistics)
    moved = base is not None and any(CONTROL_KEY.fullmatch(one.key) for one in found.described)
    if base is not None and moved:
        base = with_points_moved(base, found)
        results = _evaluated(machines, base)
        kept, found = _described(machines, results, statistics)
    left_out = {one.name: one.left_out_because for one in machines if one.left_out_because}
    names = [one.name for one in kept]
    by_name = {one.name: result for one, result in zip(machines, results, strict=True)}
    return {
        "reference": document(found, names, left_out, base, model, statistics),
        "report": {
            "format": "jigbook.reference_report/1",
            "engine_version": ENGINE_VERSION,
            "content": statistics.content,
            "confidence": statistics.confidence,
            "significance": statistics.significance,
            "machines": [
                {
                    "name": one.name,
                    "instrument": one.survey.instrument.name,
                    "left_out_because": one.left_out_because,
                }
                for one in machines
            ],
            "characteristics": [_told(one, by_name, left_out) for one in found.described],
            "warnings": warnings_of(found, kept, base, moved=moved),
            "sentences": words.sentences(
                len(kept), statistics.content, statistics.confidence, statistics.significance
            ),
        },
    }


def _described(
    machines: Sequence[Machine], results: Sequence[Result | None], statistics: StatisticsIn
) -> tuple[list[Measured], Model]:
    kept = [
        Measured(one.name, result, one.survey.instrument.name)
        for one, result in zip(machines, results, strict=True)
        if one.left_out_because is None and result is not None
    ]
    chosen = statistics.content, statistics.confidence, statistics.significance
    return kept, described(kept, *chosen)


def _require_different(machines: Sequence[Machine]) -> None:
    kept = sum(1 for one in machines if one.left_out_because is None)
    if kept < FEWEST:
        few = {"met": kept, "needed": FEWEST}
        raise refused([Problem("too_few_machines", "surveys", few)])
    if len(machines) - kept > MOST_LEFT_OUT:
        many = {"met": len(machines) - kept, "limit": MOST_LEFT_OUT}
        raise refused([Problem("too_many_left_out", "surveys", many)])
    problems = []
    names: set[str] = set()
    points: dict[object, str] = {}
    for place, one in enumerate(machines):
        field = f"surveys.{place}"
        if one.name in names:
            problems.append(Problem("machine_named_twice", field, {"met": one.name}))
        names.add(one.name)
        same = points.setdefault(one.survey.points, one.name)
        if same != one.name:
            facts = {"machine": one.name, "other": same}
            problems.append(Problem("survey_twice", field, facts))
    if problems:
        raise refused(problems)


def _evaluated(machines: Sequence[Machine], base: ReferenceIn | None) -> list[Result | None]:
    """The result of each; None for one that is left out and cannot be evaluated either."""
    reference = reference_to_engine(base)
    problems: list[Problem] = []
    results: list[Result | None] = []
    for place, one in enumerate(machines):
        try:
            result = evaluate(to_engine(one.survey), reference, Options(shared=True))
            results.append(result)
            if result.rig_check.verdict == "moved" and one.left_out_because is None:
                facts = {"machine": one.name}
                problems.append(Problem("set_up_moved_on", f"surveys.{place}", facts))
        except Refusal as refusal:
            results.append(None)
            if one.left_out_because is None:
                problems.append(_refusal(refusal, one.name, place))
    if problems:
        raise refused(problems)
    return results


def _refusal(refusal: JigbookError, name: str, place: int) -> Problem:
    facts = {"machine": name, "words": explain(refusal).sentence}
    return Problem("machine_refused", f"surveys.{place}", facts)


def _told(
    one: Described, results: Mapping[str, Result | None], left_out: Mapping[str, str]
) -> MachineStatisticsOut:
    found = one.population
    return {
        "key": one.key,
        "name": characteristic(one.key),
        "unit": one.unit,
        "machines": found.size,
        "mean": found.mean,
        "mean_sense": senses.sentence(
            sense_code(one.key, found.mean, None),
            found.mean,
            one.unit,
            places(found.expanded_uncertainty),
            None,
        ),
        "standard_uncertainty": found.standard_uncertainty,
        "degrees_of_freedom": found.degrees_of_freedom,
        "expanded_uncertainty": found.expanded_uncertainty,
        "deviation": found.deviation,
        "measurement_uncertainty": found.own_uncertainty,
        "shared_uncertainty": found.shared_uncertainty,
        "factor": found.interval.factor,
        "lower": found.interval.lower - found.mean,
        "upper": found.interval.upper - found.mean,
        "in_reference": not one.magnitude and found.deviation > 0.0,
        "scatter_below_measurement": found.scatter_below_own,
        "narrower_than_measuring": narrower_than_measuring(one),
        "outlier_test": {
            "machine": one.machines[found.test.place],
            "statistic": found.test.statistic,
            "critical": found.test.critical,
            "outlier": found.test.outlier,
        },
        "values": [
            *_values(one),
            *_left_out_values(one.key, results, left_out),
        ],
    }


def _values(one: Described) -> list[MachineValueOut]:
    return [
        {"machine": name, "value": value, "standard_uncertainty": u, "left_out": False}
        for name, value, u in zip(one.machines, one.values, one.uncertainties, strict=True)
    ]


def _left_out_values(
    key: str, results: Mapping[str, Result | None], left_out: Mapping[str, str]
) -> list[MachineValueOut]:
    return [
        {
            "machine": name,
            "value": line.value,
            "standard_uncertainty": line.standard_uncertainty,
            "left_out": True,
        }
        for name in left_out
        if (result := results[name]) is not None
        for line in result.characteristics
        if line.key == key
    ]
