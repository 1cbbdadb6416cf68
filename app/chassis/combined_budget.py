"""Where the uncertainty of combined values comes from, and what of it others may share still."""

import math
from collections.abc import Sequence

import numpy as np

from app.chassis.joint_values import Values
from app.chassis.result import Characteristic, Share, Shared
from app.chassis.sharing import Session
from app.chassis.survey import Floats
from app.metrology.degrees_of_freedom import welch_satterthwaite


def parts(sessions: Sequence[Session], values: Values, weights: Floats) -> list[dict[str, float]]:
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
    values: Values,
    causes: set[str],
) -> None:
    by_key = {item.key: item for item in items}
    for row, key in enumerate(dict.fromkeys(values.key)):
        stated = by_key[key].budget if key in by_key else ()
        shares = [share for share in stated if share.source not in causes]
        total = sum(share.share for share in shares)
        for share in shares:
            part = max(0.0, float(own[row])) * share.share / total
            found[row][share.source] = found[row].get(share.source, 0.0) + part


def budget(by_source: dict[str, float]) -> tuple[Share, ...]:
    """Shares of a variance by source, largest first; nothing of nothing."""
    total = sum(by_source.values())
    if not total > 0.0:
        return ()
    largest = sorted(by_source.items(), key=lambda pair: -pair[1])
    return tuple([Share(source, part / total) for source, part in largest if part > 0.0])


def degrees_of_freedom(own: Sequence[Characteristic], weights: Floats, u: float) -> float | None:
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


def shared_by_all(sessions: Sequence[Session], weights: Floats) -> Shared:
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
