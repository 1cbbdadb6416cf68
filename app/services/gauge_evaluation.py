"""From a gauge study as it was sent to what comes out of it. No records, no clock."""

import numpy as np

from app.metrology.gauge_study import (
    POOL_FROM,
    Anova,
    AverageRange,
    Source,
    Spread,
    anova,
    average_range,
)
from app.schemas.gauge_study import GaugeStudyIn
from app.schemas.gauge_study_result import (
    AnovaOut,
    AverageRangeOut,
    GaugeStudyOut,
    PartOfSpreadOut,
    SourceOut,
    SpreadOut,
)
from app.wording.instrument_records import gauge_sentence

TOLERANCE_DEVIATIONS = 6.0


def evaluated(study: GaugeStudyIn) -> GaugeStudyOut:
    """Both ways of evaluating a study, in numbers and one sentence."""
    readings = _readings(study)
    variances = anova(readings)
    read = variances.spread
    return {
        "format": "jigbook.gauge_study_result/1",
        "instrument": study.instrument,
        "quantity": study.quantity,
        "unit": study.unit,
        "parts": list(study.parts),
        "people": list(study.people),
        "trials": len(study.trials),
        "anova": _anova(variances, study),
        "average_range": _average_range(average_range(readings), study),
        "sentence": gauge_sentence(
            read.gauge,
            read.share(read.gauge),
            read.categories,
            study.unit,
            pooled=variances.pooling and variances.with_interaction is not None,
        ),
    }


def _readings(study: GaugeStudyIn) -> np.ndarray:
    """(people, parts, trials)."""
    person = {name: i for i, name in enumerate(study.people)}
    part = {name: i for i, name in enumerate(study.parts)}
    trial = {number: i for i, number in enumerate(study.trials)}
    readings = np.empty((len(person), len(part), len(trial)))
    for one in study.readings:
        readings[person[one.person], part[one.part], trial[one.trial]] = one.value
    return readings


def _anova(found: Anova, study: GaugeStudyIn) -> AnovaOut:
    lines = {
        "people": found.people,
        "parts": found.parts,
        "interaction": found.interaction,
        "repeatability": found.repeatability,
        "total": found.total,
    }
    both = found.with_interaction
    return {
        "table": [_source(name, one) for name, one in lines.items() if one is not None],
        "pooled": _spread(found.pooled, study),
        "with_interaction": None if both is None else _spread(both, study),
        "pool_from": POOL_FROM,
        "read": "pooled" if found.spread is found.pooled else "with_interaction",
    }


def _source(name: str, one: Source) -> SourceOut:
    return {
        "source": name,
        "sum_of_squares": one.sum_of_squares,
        "degrees_of_freedom": one.degrees_of_freedom,
        "mean_square": one.mean_square,
        "ratio": one.ratio,
        "probability": one.tail,
    }


def _average_range(found: AverageRange, study: GaugeStudyIn) -> AverageRangeOut:
    return {
        "spread": _spread(found.spread, study),
        "mean_range": found.mean_range,
        "range_limit": found.range_limit,
        "beyond": [
            {"person": study.people[person], "part": study.parts[part]}
            for person, part in found.beyond
        ],
        "mean_by_person": found.means.tolist(),
        "mean_range_by_person": found.mean_ranges.tolist(),
        "people_range": found.people_range,
        "part_range": found.part_range,
    }


def _spread(found: Spread, study: GaugeStudyIn) -> SpreadOut:
    def part(deviation: float | None) -> PartOfSpreadOut:
        return {
            "deviation": deviation,
            "share": found.share(deviation),
            "variance_share": found.variance_share(deviation),
        }

    width = study.tolerance_width
    return {
        "repeatability": part(found.repeatability),
        "reproducibility": part(found.reproducibility),
        "interaction": part(found.interaction),
        "gauge": part(found.gauge),
        "part": part(found.part),
        "total": part(found.total),
        "repeatability_degrees_of_freedom": found.repeatability_degrees_of_freedom,
        "categories": found.categories,
        "tolerance_share": None if width is None else TOLERANCE_DEVIATIONS * found.gauge / width,
    }
