"""Each characteristic against its tolerance, and the finding over all of them."""

import math
from collections.abc import Mapping, Sequence
from typing import NamedTuple

import numpy as np

from app.chassis.characteristic_units import unit_of
from app.chassis.result import Characteristic, Finding, Share
from app.chassis.senses import sense_code
from app.chassis.survey import NO_TOLERANCE, Floats, Tolerance
from app.metrology import conformity

HARDLY = 1e-6


class Row(NamedTuple):
    """One computed characteristic, in its unit."""

    key: str
    value: float
    set_by_levelling: bool = False


def characteristic(
    row: Row,
    u: float,
    freedom: float | None,
    tolerance: Tolerance | None,
    threshold: float,
    budget: tuple[Share, ...],
    undecidable: bool,
) -> Characteristic:
    """Judge one characteristic; undecidable: no verdict may rest on it.

    Rule: JCGM 106, formulas in `metrology.conformity`.
    """
    tolerance = tolerance or NO_TOLERANCE
    key, value, set_by_levelling = row
    nominal, deviation, lower, upper = tolerance.nominal, None, None, None
    if nominal is not None:
        deviation = value - nominal
        if not set_by_levelling:
            lower, upper = tolerance.lower, tolerance.upper
    within = above = below = side = None
    verdict = "no_tolerance"
    limited = lower is not None or upper is not None
    if deviation is not None and limited:
        odds = conformity.probabilities(deviation, u, freedom, lower, upper)
        within, above, below = odds
        verdict, side = conformity.verdict(odds, threshold)
        if undecidable:
            verdict, side = conformity.UNDECIDED
    factor = conformity.coverage_factor(freedom)
    expanded = factor * u
    return Characteristic(
        key,
        unit_of(key),
        value,
        u,
        freedom,
        expanded,
        factor,
        nominal,
        deviation,
        lower,
        upper,
        is_required(tolerance) and not set_by_levelling,
        within,
        above,
        below,
        verdict,
        side,
        limited and conformity.cannot_decide(expanded, lower, upper),
        set_by_levelling,
        sense_code(key, value, deviation),
        budget,
    )


def is_required(tolerance: Tolerance) -> bool:
    """As the reference says, else where it gives a limit."""
    if tolerance.required is not None:
        return tolerance.required
    return tolerance.lower is not None or tolerance.upper is not None


def finding(
    characteristics: Sequence[Characteristic],
    covariance: Floats,
    tolerances: Mapping[str, Tolerance],
    threshold: float,
    moved: bool,
    by_trials: float | None = None,
) -> Finding:
    """The overall finding: the first that applies.

    covariance: (k, k), of the values in order; moved: whether the set-up did; by_trials: share of
    trials in which all required ones are within, where there are trials.
    """
    computed = {item.key: place for place, item in enumerate(characteristics)}
    set_keys = {item.key for item in characteristics if item.set_by_levelling}
    required = [k for k, t in tolerances.items() if is_required(t) and k not in set_keys]
    missing = tuple(key for key in required if key not in computed)
    places = [computed[key] for key in required if key in computed]
    together = by_trials
    if moved or missing or not required:
        together = None
    elif by_trials is None:
        together = _all_within(characteristics, covariance, places, threshold)
    if moved:
        verdict = "undecided"
    elif any(item.verdict == "outside" for item in characteristics):
        verdict = "outside"
    elif together is None or any(characteristics[i].verdict != "within" for i in places):
        verdict = "undecided"
    else:
        verdict = "within" if together >= threshold else "undecided"
    return Finding(verdict, together, len(required), missing)


def _all_within(
    characteristics: Sequence[Characteristic],
    covariance: Floats,
    places: list[int],
    threshold: float,
) -> float:
    """Probability that all stand within at once.

    The sum of what each lacks bounds it from below, and suffices where that passes; otherwise the
    joint distribution is integrated, in which what is determined by the others counts once. Where
    one of them hardly can be within, all together cannot either: between 0 and its own probability
    there is less than the integration resolves.
    """
    items = [characteristics[i] for i in places]
    alone = [item.probability_within for item in items if item.probability_within is not None]
    bound = 1.0 - sum([1.0 - p for p in alone])
    if bound >= threshold or len(items) == 1:
        return max(0.0, bound)
    if min(alone, default=1.0) < HARDLY:
        return min(alone)
    freedoms = [item.degrees_of_freedom for item in items if item.degrees_of_freedom is not None]
    return conformity.joint_probability(
        [item.deviation or 0.0 for item in items],
        covariance[np.ix_(places, places)],
        [-math.inf if item.lower is None else item.lower for item in items],
        [math.inf if item.upper is None else item.upper for item in items],
        min(freedoms, default=None),
    )
