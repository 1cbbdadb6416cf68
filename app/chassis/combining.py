"""Several surveys of one phase combined into one result, by generalised least squares.

What the surveys share stands off the diagonal of their joint covariance and is not averaged down.
Surveys that contradict each other at 0.1 % are refused.
"""

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from app.chassis import combined_budget, refusals, verdicts
from app.chassis.joint_values import Values, together, weights_of
from app.chassis.result import Caveat, Characteristic, NoiseCheck, Result, RigCheck
from app.chassis.sharing import Session
from app.chassis.survey import Floats, Reference
from app.chassis.verdicts import Row
from app.metrology import conformity
from app.metrology.type_a import chi_square_limit, f_limit

TAIL = 0.001
IN_DOUBT = frozenset(
    {"first_order_only", "bore_and_arc_disagree", "head_face_doubtful", "pivot_face_doubtful"}
)
"""Warnings with which a survey withholds verdicts."""


class Consistency(NamedTuple):
    """Do the surveys agree? statistic against limit at 0.1 %; None: nothing was measured twice."""

    statistic: float
    limit: float
    degrees_of_freedom: int


class Combined(NamedTuple):
    result: Result
    surveys: int
    consistency: Consistency | None


def combined(sessions: Sequence[Session], reference: Reference) -> Combined:
    """One result from two surveys or more.

    Raises Refusal `combine_too_few`, `combine_moved`, `combine_differs`, `combine_disagrees`.
    """
    _check_alike(sessions)
    values = together(sessions)
    keys = list(dict.fromkeys(values.key))
    weights = weights_of(values, keys)
    consistency = _check_consistent(values, keys, weights, sessions)
    covariance = weights @ values.covariance @ weights.T
    result = _result(sessions, reference, values, keys, weights, (covariance + covariance.T) / 2.0)
    return Combined(result, len(sessions), consistency)


def _check_alike(sessions: Sequence[Session]) -> None:
    if len(sessions) < 2:
        raise refusals.combine_too_few(len(sessions))
    first = sessions[0].result
    for number, session in enumerate(sessions, 1):
        result = session.result
        if result.rig_check.verdict == "moved":
            raise refusals.combine_moved(number)
        if (result.levelling, result.levelled_by) != (first.levelling, first.levelled_by):
            raise refusals.combine_differs("levelling", number)
        if result.threshold != first.threshold or _limits(result, first) != _limits(first, result):
            raise refusals.combine_differs("reference", number)


def _limits(result: Result, other: Result) -> dict[str, tuple[float | None, ...]]:
    shared = {item.key for item in other.characteristics}
    return {
        item.key: (item.nominal, item.lower, item.upper)
        for item in result.characteristics
        if item.key in shared
    }


def _check_consistent(
    values: Values, keys: list[str], weights: Floats, sessions: Sequence[Session]
) -> Consistency | None:
    """Chi-square of what is left, or F where a survey's own uncertainty is an estimate."""
    free = values.free
    freedom = len(free) - len({values.key[i] for i in free})
    if freedom == 0:
        return None
    mean = weights @ values.value
    left = np.array([values.value[i] - mean[keys.index(values.key[i])] for i in free])
    covariance = values.covariance[np.ix_(free, free)]
    size = np.sqrt(covariance.diagonal())
    scaled = covariance / np.outer(size, size)
    statistic = float((left / size) @ np.linalg.solve(scaled, left / size))
    limit = _limit(sessions, freedom)
    if statistic > limit:
        number, key, apart = _most_apart(values, left)
        unit = next(
            item.unit for item in sessions[number].result.characteristics if item.key == key
        )
        raise refusals.combine_disagrees(number + 1, key, unit, apart, statistic, limit)
    return Consistency(statistic, limit, freedom)


def _limit(sessions: Sequence[Session], freedom: int) -> float:
    estimated = [
        item.degrees_of_freedom
        for session in sessions
        for item in session.result.characteristics
        if item.degrees_of_freedom is not None
    ]
    if estimated:
        return freedom * f_limit(TAIL, freedom, min(estimated))
    return chi_square_limit(TAIL, freedom)


def _most_apart(values: Values, left: Floats) -> tuple[int, str, float]:
    """Session, characteristic and distance from the combined value where that is largest in units
    of the value's own uncertainty; of a pair that is equally far off, the less certain one."""
    size = np.sqrt(values.covariance.diagonal()[values.free])
    worst = int(np.argmax(np.abs(left) / size))
    twin = values.key[values.free[worst]]
    among = [n for n, i in enumerate(values.free) if values.key[i] == twin]
    place = max(among, key=lambda n: abs(left[n]))
    return values.session[values.free[place]], twin, float(left[place])


def _result(
    sessions: Sequence[Session],
    reference: Reference,
    values: Values,
    keys: list[str],
    weights: Floats,
    covariance: Floats,
) -> Result:
    results = [session.result for session in sessions]
    parts = combined_budget.parts(sessions, values, weights)
    places = {key: [i for i, name in enumerate(values.key) if name == key] for key in keys}
    stated = [item for result in results for item in result.characteristics]
    barred = set[str]().union(*map(_barred, results))
    items = []
    for row, key in enumerate(keys):
        own = [stated[i] for i in places[key]]
        value = float(weights[row] @ values.value)
        u = math.sqrt(max(0.0, covariance[row, row]))
        if own[0].set_by_levelling:
            value, u = own[0].value, 0.0
        items.append(
            verdicts.characteristic(
                Row(key, value, own[0].set_by_levelling),
                u,
                combined_budget.degrees_of_freedom(own, weights[row, places[key]], u),
                reference.characteristics.get(key),
                results[0].threshold,
                combined_budget.budget(parts[row]),
                key in barred,
            )
        )
    finding = verdicts.finding(
        items, covariance, reference.characteristics, results[0].threshold, False
    )
    return results[0]._replace(
        finding=finding,
        rig_check=_weakest(results),
        noise_check=_noise(results),
        orientation=_orientation(results),
        characteristics=tuple(items),
        covariance_keys=tuple(keys),
        covariance=covariance,
        warnings=_warnings(results),
        shared=combined_budget.shared_by_all(sessions, weights),
        handling=(),
        monte_carlo=None,
    )


def _barred(result: Result) -> set[str]:
    """Keys on which no verdict may rest: all that a survey in doubt leaves undecided, and what it
    leaves so although its own numbers would decide."""
    doubt = any(caveat.code in IN_DOUBT for caveat in result.warnings)
    left_open = [item for item in result.characteristics if item.verdict == "undecided"]
    return {item.key for item in left_open if doubt or _would_decide(item, result.threshold)}


def _would_decide(item: Characteristic, threshold: float) -> bool:
    if item.deviation is None:
        return False
    odds = conformity.probabilities(
        item.deviation, item.standard_uncertainty, item.degrees_of_freedom, item.lower, item.upper
    )
    return conformity.verdict(odds, threshold).code != "undecided"


def _weakest(results: Sequence[Result]) -> RigCheck:
    """The check of the survey of which least can be said."""
    unknown = [r.rig_check for r in results if r.rig_check.verdict == "not_checked"]
    if unknown:
        return unknown[0]
    return max((r.rig_check for r in results), key=lambda check: check.detectable_slip_mm or 0.0)


def _noise(results: Sequence[Result]) -> NoiseCheck:
    checks = [result.noise_check for result in results]
    order = ("noisier", "not_checked", "as_claimed")
    return min(checks, key=lambda check: order.index(check.verdict))


def _orientation(results: Sequence[Result]) -> str:
    checked = all(result.orientation == "checked" for result in results)
    return "checked" if checked else "not_checked"


def _warnings(results: Sequence[Result]) -> tuple[Caveat, ...]:
    return tuple(dict.fromkeys(caveat for result in results for caveat in result.warnings))
