"""Several surveys of one phase combined into one result, by generalised least squares.

With y the values of all surveys, V their joint covariance and A what says which value is which
characteristic, the combined values are (A' V⁻¹ A)⁻¹ A' V⁻¹ y with covariance (A' V⁻¹ A)⁻¹
(A. C. Aitken, Proc. R. Soc. Edinb. 55 (1935) 42-48; from memory). What the surveys share stands
off the diagonal of V and is not averaged down. What follows from the other characteristics of its
own survey (the levelled ones from the distances) adds nothing and is carried along with them.
"""

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from app.chassis import refusals, verdicts
from app.chassis.result import Caveat, Characteristic, NoiseCheck, Result, RigCheck, Share, Shared
from app.chassis.sharing import Session, joint_covariance
from app.chassis.survey import Floats, Reference
from app.chassis.verdicts import Row
from app.metrology import conformity
from app.metrology.degrees_of_freedom import welch_satterthwaite
from app.metrology.type_a import chi_square_limit, f_limit

TAIL = 0.001
FOLLOWS = 1e-6
"""A characteristic whose variance is left by less than this share of it, once the ones before it
are known, follows from them."""


class Consistency(NamedTuple):
    """Do the surveys agree? statistic against limit at 0.1 %; None: nothing was measured twice."""

    statistic: float
    limit: float
    degrees_of_freedom: int


class Combined(NamedTuple):
    result: Result
    surveys: int
    consistency: Consistency | None


class _Values(NamedTuple):
    """All values of all sessions. key, session: (n,); free: (n,), which are not fixed and follow
    from no other of their survey."""

    value: Floats
    covariance: Floats
    key: list[str]
    session: list[int]
    free: list[int]


def combined(sessions: Sequence[Session], reference: Reference) -> Combined:
    """One result from two surveys or more.

    Raises Refusal `combine_too_few`, `combine_moved`, `combine_differs`, `combine_disagrees`.
    """
    _check_alike(sessions)
    values = _values(sessions)
    keys = list(dict.fromkeys(values.key))
    weights = _weights(values, keys)
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


def _values(sessions: Sequence[Session]) -> _Values:
    covariance = joint_covariance(sessions)
    items = [(n, item) for n, s in enumerate(sessions) for item in s.result.characteristics]
    free, begin = [], 0
    for session in sessions:
        own = range(begin, begin + len(session.result.characteristics))
        free += [begin + i for i in _independent(covariance[np.ix_(own, own)])]
        begin = own.stop
    return _Values(
        np.array([item.value for _, item in items]),
        covariance,
        [item.key for _, item in items],
        [number for number, _ in items],
        free,
    )


def _independent(covariance: Floats) -> list[int]:
    """Those that do not follow from the ones before them (Cholesky's factors, row by row)."""
    size = np.sqrt(covariance.diagonal())
    known = np.flatnonzero(size > 0.0)
    scaled = covariance / np.outer(np.where(size > 0.0, size, 1.0), np.where(size > 0.0, size, 1.0))
    factor, chosen = np.zeros((len(size), len(size))), list[int]()
    for place in known.tolist():
        row = factor[place]
        for column, earlier in enumerate(chosen):
            inner = row[:column] @ factor[earlier, :column]
            row[column] = (scaled[place, earlier] - inner) / factor[earlier, column]
        left = scaled[place, place] - row @ row
        if left > FOLLOWS:
            row[len(chosen)] = math.sqrt(left)
            chosen.append(place)
    return chosen


def _weights(values: _Values, keys: list[str]) -> Floats:
    """(k, n): how the combined values are made of all values."""
    free = values.free
    told = [key for key in keys if key in {values.key[i] for i in free}]
    weights = np.zeros((len(keys), len(values.key)))
    rows = [keys.index(key) for key in told]
    design = np.array([[float(values.key[i] == key) for key in told] for i in free])
    covariance = values.covariance[np.ix_(free, free)]
    size = np.sqrt(covariance.diagonal())
    inverse = np.linalg.inv(covariance / np.outer(size, size)) / np.outer(size, size)
    normal = design.T @ inverse @ design
    weights[np.ix_(rows, free)] = np.linalg.solve(normal, design.T @ inverse)
    for key in keys:
        if key not in told:
            _carry(values, keys, key, weights)
    return weights


def _carry(values: _Values, keys: list[str], key: str, weights: Floats) -> None:
    """A characteristic that follows from others: its mean, moved as those were moved."""
    places = [i for i, name in enumerate(values.key) if name == key]
    row = keys.index(key)
    for place in places:
        weights[row, place] += 1.0 / len(places)
        own = [i for i in values.free if values.session[i] == values.session[place]]
        block = values.covariance[np.ix_(own, own)]
        size = np.sqrt(block.diagonal())
        slopes = np.linalg.solve(block / np.outer(size, size), values.covariance[own, place] / size)
        for i, slope in zip(own, (slopes / size).tolist(), strict=True):
            moved = weights[keys.index(values.key[i])].copy()
            moved[i] -= 1.0
            weights[row] += slope / len(places) * moved


def _check_consistent(
    values: _Values, keys: list[str], weights: Floats, sessions: Sequence[Session]
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


def _most_apart(values: _Values, left: Floats) -> tuple[int, str, float]:
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
    values: _Values,
    keys: list[str],
    weights: Floats,
    covariance: Floats,
) -> Result:
    results = [session.result for session in sessions]
    parts = _parts(sessions, values, weights)
    places = {key: [i for i, name in enumerate(values.key) if name == key] for key in keys}
    stated = [item for result in results for item in result.characteristics]
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
                _freedom(own, weights[row, places[key]], u),
                reference.characteristics.get(key),
                results[0].threshold,
                _budget(parts[row]),
                any(_barred(item, results[0].threshold) for item in own),
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
        shared=_shared(sessions, weights),
        handling=(),
        monte_carlo=None,
    )


def _barred(item: Characteristic, threshold: float) -> bool:
    """Whether its own survey says that no verdict may rest on this value."""
    if item.verdict != "undecided" or item.deviation is None:
        return False
    odds = conformity.probabilities(
        item.deviation, item.standard_uncertainty, item.degrees_of_freedom, item.lower, item.upper
    )
    return conformity.verdict(odds, threshold).code != "undecided"


def _freedom(own: Sequence[Characteristic], weights: Floats, u: float) -> float | None:
    """Welch and Satterthwaite's, what the surveys share being taken as known."""
    parts = [
        (abs(weight) * item.standard_uncertainty, item.degrees_of_freedom)
        for item, weight in zip(own, weights.tolist(), strict=True)
        if item.degrees_of_freedom is not None
    ]
    if not parts or u == 0.0:
        return None
    rest = math.sqrt(max(0.0, u * u - sum(part * part for part, _ in parts)))
    freedom = welch_satterthwaite(
        [*[part for part, _ in parts], rest], [*[degrees for _, degrees in parts], math.inf]
    )
    return None if math.isinf(freedom) else freedom


def _parts(sessions: Sequence[Session], values: _Values, weights: Floats) -> list[dict[str, float]]:
    """For each combined value the variance by each source. Common causes are exact; what is a
    survey's own is told apart in the proportions of its own budget."""
    found: list[dict[str, float]] = [{} for _ in weights]
    in_common: dict[object, tuple[str, Floats]] = {}
    begin = 0
    for number, session in enumerate(sessions):
        shared, count = session.result.shared, len(session.result.characteristics)
        block = weights[:, begin : begin + count]
        through = block @ shared.derivatives
        for place, cause in enumerate(shared.causes):
            identity = session.identity(cause) or (number, cause)
            so_far = in_common.get(identity, (cause, np.zeros(len(weights))))[1]
            in_common[identity] = (cause.partition(".")[0], so_far + through[:, place])
        rest = session.result.covariance - shared.derivatives @ shared.derivatives.T
        own = np.einsum("ij,jk,ik->i", block, rest, block)
        causes = {cause.partition(".")[0] for cause in shared.causes}
        _add_own(found, own, session.result.characteristics, values, causes)
        begin += count
    for source, slopes in in_common.values():
        for row, slope in enumerate(slopes.tolist()):
            found[row][source] = found[row].get(source, 0.0) + slope * slope
    return found


def _add_own(
    found: list[dict[str, float]],
    own: Floats,
    items: Sequence[Characteristic],
    values: _Values,
    causes: set[str],
) -> None:
    by_key = {item.key: item for item in items}
    for row, key in enumerate(dict.fromkeys(values.key)):
        budget = by_key[key].budget if key in by_key else ()
        shares = [share for share in budget if share.source not in causes]
        total = sum(share.share for share in shares)
        for share in shares:
            part = max(0.0, float(own[row])) * share.share / total
            found[row][share.source] = found[row].get(share.source, 0.0) + part


def _budget(parts: dict[str, float]) -> tuple[Share, ...]:
    total = sum(parts.values())
    if not total > 0.0:
        return ()
    largest = sorted(parts.items(), key=lambda pair: -pair[1])
    return tuple([Share(source, part / total) for source, part in largest if part > 0.0])


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


def _shared(sessions: Sequence[Session], weights: Floats) -> Shared:
    """The causes that all surveys have in common: another survey may share them still."""
    identities = [{s.identity(c): c for c in s.result.shared.causes} for s in sessions]
    common = [
        (identity, cause)
        for identity, cause in identities[0].items()
        if identity is not None and all(identity in others for others in identities)
    ]
    slopes = np.zeros((len(weights), len(common)))
    begin = 0
    for session, known in zip(sessions, identities, strict=True):
        shared, count = session.result.shared, len(session.result.characteristics)
        places = [shared.causes.index(known[identity]) for identity, _ in common]
        slopes += weights[:, begin : begin + count] @ shared.derivatives[:, places]
        begin += count
    return Shared(tuple([cause for _, cause in common]), slopes)
