"""All that is noticed about a measurement while it is taken: the one door of these checks."""

import math
from collections.abc import Iterator, Sequence

import numpy as np

from app.chassis import datum_doubts, place_checks, returned_stations, slip, station_checks
from app.chassis.evaluate import evaluate
from app.chassis.features import is_return
from app.chassis.needs import LACKS
from app.chassis.noticed import Facts, Noticed
from app.chassis.part_of_survey import kept
from app.chassis.returned_stations import Returned
from app.chassis.slip import Slip
from app.chassis.station_checks import Seen
from app.chassis.survey import Floats, Options, Reference, Survey
from app.errors import Refusal

UNKNOWN_U_MM = 0.3
"""Where neither point nor instrument states one; only gross mistakes are looked for."""
EVALUATED_MOST = 400
"""Points up to which the engine is asked while somebody waits; of more it is asked at the end."""
QUICK = Options(monte_carlo=0)
DATUM = frozenset({"pivot", "pivot_face"})


def look(survey: Survey, reference: Reference) -> tuple[Noticed, ...]:
    """What is noticed about the points so far.

    The engine is asked only where something was measured again, and only where nothing grave was
    found without it.
    """
    if not survey.feature:
        return ()
    u = uncertainties(survey)
    seen = station_checks.seen_of(survey, u)
    found = [
        *_of_places(survey, reference),
        *station_checks.check(seen),
    ]
    returned = any(station and is_return(station) for station in survey.station)
    if returned and len(survey.feature) <= EVALUATED_MOST and not any(one.grave for one in found):
        again = list(returned_stations.found(seen, survey, u))
        found += _of_returns(survey, reference, seen, again)
    return tuple(found)


def _of_returns(
    survey: Survey, reference: Reference, seen: Seen, again: Sequence[Returned]
) -> list[Noticed]:
    """What no turn of the steering explains; else what the whole tells, of complete stations."""
    odd = list(returned_stations.elsewhere(seen, survey, again))
    if odd and _rig(only(survey, DATUM), reference) != "moved":
        return odd
    waiting = returned_stations.incomplete(seen, survey)
    standing = [i for i in range(len(survey.feature)) if i not in waiting]
    if not any(is_return(survey.station[i] or "") for i in standing):
        return []
    part = kept(survey, standing)
    u = uncertainties(part)
    met = station_checks.seen_of(part, u)
    complete = list(returned_stations.found(met, part, u))
    return [
        one._replace(points=tuple([standing[i] for i in one.points]))
        for one in _of_the_whole(part, reference, met, complete)
    ]


def _of_places(survey: Survey, reference: Reference) -> list[Noticed]:
    def check(part: Survey) -> list[Noticed]:
        found = place_checks.check(part, reference, uncertainties(part))
        return [*found, *datum_doubts.repeats(part)]

    return datum_doubts.aimed(survey, reference, check(survey), check)


def uncertainties(survey: Survey) -> Floats:
    """(n,), mm: standard uncertainty of each point as far as it is known."""
    stated = survey.instrument.standard_uncertainty_mm
    u = np.where(np.isnan(survey.u), UNKNOWN_U_MM if stated is None else stated, survey.u)
    for i, covariance in survey.cov.items():
        u[i] = float(np.sqrt(np.trace(covariance) / 3.0))
    return np.asarray(u)


def _of_the_whole(
    survey: Survey, reference: Reference, seen: Seen, again: Sequence[Returned]
) -> Iterator[Noticed]:
    """Did the set-up stand still, and does the engine refuse what no further point mends?"""
    verdict = _rig(survey, reference)
    if isinstance(verdict, Refusal):
        if verdict.code not in LACKS:
            yield Noticed(verdict.code, verdict.feature, tuple(verdict.facts.items()))
            return
        # Too little for the whole, but the datum may have come back by itself.
        if _rig(only(survey, DATUM), reference) == "moved":
            yield _moved(survey, "everything", (), slip.of_datum(survey, uncertainties(survey)))
            return
    elif verdict == "moved":
        scope = _scope(survey, reference)
        own = None if scope == "everything" else _no_movement(again)
        yield own or _moved(survey, scope, again, _slip(seen, survey, scope, again))
        return
    yield from [_found_again(one) for one in again if one.turned is not None]


def _slip(seen: Seen, survey: Survey, scope: str, again: Sequence[Returned]) -> Slip | None:
    u = uncertainties(survey)
    if scope == "everything":
        return slip.of_datum(survey, u)
    return slip.of_targets(survey, seen, again, u)


def _moved(survey: Survey, scope: str, again: Sequence[Returned], farthest: Slip | None) -> Noticed:
    places = [i for i, station in enumerate(survey.station) if station and is_return(station)]
    facts: Facts = (("scope", scope),)
    if again and scope != "everything":
        facts = (*facts, ("reason", f"{scope}_at"), ("station", again[-1].station))
    if farthest is not None:
        facts = (
            *facts,
            ("slipped", farthest.feature),
            ("slipped_label", farthest.label),
            ("slip_mm", farthest.mm),
            ("slip_u_mm", farthest.expanded_mm),
        )
    return Noticed("set_up_moved", None, facts, tuple(places))


def _no_movement(again: Sequence[Returned]) -> Noticed | None:
    """What explains better that the targets do not come back: their names were exchanged, or they
    do come back to one station, and it is that station that does not fit the others."""
    for one in again:
        if one.exchanged is not None:
            first, second = one.exchanged
            names = (("one", first), ("other", second), ("station", one.name))
            return Noticed("targets_swapped", "steer_target", names, one.places)
    if not again or not all(one.fits for one in again):
        return None
    facts = (("other", again[-1].station),)
    return Noticed("stations_disagree", "steer_target", facts, again[-1].places)


def _found_again(one: Returned) -> Noticed:
    """Told for its own sake: nobody need find the same turn again, and which it was is known."""
    facts = (("station", one.station), ("turned_deg", abs(math.degrees(one.turned or 0.0))))
    return Noticed("station_again", "steer_target", facts, one.places, grave=False)


def _rig(survey: Survey, reference: Reference) -> str | Refusal:
    try:
        return evaluate(survey, reference, QUICK).rig_check.verdict
    except Refusal as refusal:
        return refusal


def _scope(survey: Survey, reference: Reference) -> str:
    """Whether the datum moved too: asked again without the returned targets."""
    alone = without_returned_targets(survey)
    if not any(station and is_return(station) for station in alone.station):
        return "unknown"
    return "everything" if _rig(alone, reference) == "moved" else "steering"


def without_returned_targets(survey: Survey) -> Survey:
    """The survey without the targets that were measured again."""
    pairs = zip(survey.feature, survey.station, strict=True)
    return kept(
        survey,
        [
            i
            for i, (feature, station) in enumerate(pairs)
            if feature != "steer_target" or not (station and is_return(station))
        ],
    )


def only(survey: Survey, features: frozenset[str]) -> Survey:
    """The survey's points of these features alone."""
    return kept(survey, [i for i, one in enumerate(survey.feature) if one in features])
