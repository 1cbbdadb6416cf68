"""What to measure next: how far the points so far lead, and which further one leads farthest.

Every candidate joins the estimate as if it had been measured; what the engine then says of the
uncertainties is the prediction. Nothing is approximated beside that.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import NamedTuple

from app.chassis import bore_check, needs, set_up
from app.chassis.candidate_places import Candidate
from app.chassis.candidates import candidates
from app.chassis.evaluate import evaluate
from app.chassis.foreseen import Seen, with_points
from app.chassis.needs import Need
from app.chassis.preparation import prepare
from app.chassis.result import Characteristic, Result
from app.chassis.survey import Options, Reference, Survey
from app.errors import Refusal

DEFAULT = Options()
ALIKE = 0.01
"""Candidates whose effect differs by less are equals."""
WORTH_IT = 0.02
"""A smaller gain is no advice."""
MOST_SHOWN = 5
SMALLEST = 1e-9
"""On its limit a value cannot be decided, whatever its uncertainty."""


class Foreseen(NamedTuple):
    """A candidate with what it would bring: key -> expanded uncertainty, in the key's unit.

    gain: by how much it lowers what is looked at (0 to 1).
    """

    candidate: Candidate
    expanded: Mapping[str, float]
    gain: float


class Outlook(NamedTuple):
    """One characteristic: how it stands and what would help it most.

    allowed: half the width of a two-sided tolerance, the largest expanded uncertainty that can
    decide; enough: whether it is not exceeded; both None without such a tolerance. decided: whether
    there is a verdict now, None without a limit.
    """

    key: str
    unit: str
    expanded_uncertainty: float
    allowed: float | None
    enough: bool | None
    decided: bool | None
    best: Foreseen | None


class Plan(NamedTuple):
    """needed_first: why the survey cannot be solved yet; all else is then empty.

    still_needed: what else is missing. best: what helps the finding most; `looked_at` is the
    characteristic that it was chosen for (None: all together). candidates: the best, best first.
    """

    needed_first: Need | None
    still_needed: tuple[Need, ...]
    outlooks: tuple[Outlook, ...]
    looked_at: str | None
    best: Foreseen | None
    candidates: tuple[Foreseen, ...]


def plan(survey: Survey, reference: Reference, options: Options = DEFAULT) -> Plan:
    """What to measure next, by first order. Raises Refusal where no further point would make the
    survey sound."""
    try:
        result = evaluate(survey, reference, replace(options, monte_carlo=0))
    except Refusal as refusal:
        return Plan(needs.first_of_all(refusal), (), (), None, None, ())
    return after(result, survey, reference)


def after(result: Result, survey: Survey, reference: Reference) -> Plan:
    """The plan for a survey that was solved."""
    still = needs.still(survey, result)
    judged = [item for item in result.characteristics if item.standard_uncertainty > 0.0]
    if result.rig_check.verdict == "moved":
        # No point measured now belongs to the set-up of the first ones.
        return Plan(None, still, tuple([_outlook(item, ()) for item in judged]), None, None, ())
    seen = _foreseen(survey, reference, judged)
    looked_at = _hindrance(judged)
    ranked = _ranked(seen, judged, looked_at)
    best = _first(ranked)
    return Plan(
        None,
        still,
        tuple([_outlook(item, seen) for item in judged]),
        looked_at,
        best,
        _shown(ranked, best),
    )


def foreseen(survey: Survey, reference: Reference) -> tuple[Foreseen, ...]:
    """All candidates with what each would bring, in the order in which they are looked at."""
    judged = evaluate(survey, reference, Options(monte_carlo=0)).characteristics
    return _foreseen(survey, reference, [item for item in judged if item.standard_uncertainty > 0])


def _foreseen(
    survey: Survey, reference: Reference, judged: Sequence[Characteristic]
) -> tuple[Foreseen, ...]:
    """Each candidate with the expanded uncertainties that it would leave."""
    agreement = bore_check.check(prepare(survey, reference))
    checked = set_up.check(agreement.chosen)
    seen = Seen(survey, reference, checked, agreement.other is not None)
    found = []
    for candidate in candidates(checked):
        try:
            expected = with_points(seen, candidate.points)
        except Refusal:
            continue
        u = {
            row.key: math.sqrt(variance)
            for row, variance in zip(
                expected.rows, expected.contributions.covariance.diagonal().tolist(), strict=True
            )
        }
        expanded = {
            item.key: item.coverage_factor * u[item.key] for item in judged if item.key in u
        }
        found.append(Foreseen(candidate, expanded, 0.0))
    return tuple(found)


def _hindrance(judged: Sequence[Characteristic]) -> str | None:
    """The characteristic that keeps the finding back most: of the required ones that are not yet
    decided, else of all such, else of all with a limit, the one whose uncertainty takes most of
    what it is judged by."""
    limited = [(item, taken) for item in judged if (taken := _taken(item)) is not None]
    undecided = [pair for pair in limited if pair[0].verdict == "undecided"]
    required = [pair for pair in undecided if pair[0].required]
    worst = max(required or undecided or limited, key=lambda pair: pair[1], default=None)
    return None if worst is None else worst[0].key


def _taken(item: Characteristic) -> float | None:
    """The expanded uncertainty as a share of half the width of the tolerance; of a one-sided one,
    of the distance to its limit."""
    allowed = allowed_of(item)
    if allowed is not None:
        return item.expanded_uncertainty / allowed
    limit = item.upper if item.lower is None else item.lower
    if limit is None or item.deviation is None:
        return None
    return item.expanded_uncertainty / max(abs(item.deviation - limit), SMALLEST)


def allowed_of(item: Characteristic) -> float | None:
    """Half the width of a two-sided tolerance."""
    if item.lower is None or item.upper is None or not item.upper > item.lower:
        return None
    return (item.upper - item.lower) / 2.0


def _ranked(
    foreseen: Sequence[Foreseen], judged: Sequence[Characteristic], key: str | None
) -> list[Foreseen]:
    """By what each would do for one characteristic, or for all (geometric mean); best first."""
    before = {item.key: item.expanded_uncertainty for item in judged}
    chosen = list(before) if key is None else [key]
    rated = [one._replace(gain=_gain(before, one.expanded, chosen)) for one in foreseen]
    # Rounding must not decide between equals: they keep their order.
    return sorted(rated, key=lambda one: -round(one.gain, 6))


def _gain(before: Mapping[str, float], then: Mapping[str, float], keys: Sequence[str]) -> float:
    ratios = [math.log(then[key] / before[key]) for key in keys if then.get(key, 0.0) > 0.0]
    return 1.0 - math.exp(sum(ratios) / len(ratios)) if ratios else 0.0


def _first(ranked: Sequence[Foreseen]) -> Foreseen | None:
    """The best; of equals the one with the fewest points, then the first by order."""
    if not ranked or ranked[0].gain < WORTH_IT:
        return None
    equals = [one for one in ranked if 1.0 - one.gain <= (1.0 - ranked[0].gain) * (1.0 + ALIKE)]
    return min(equals, key=lambda one: len(one.candidate.points))


def _shown(ranked: Sequence[Foreseen], best: Foreseen | None) -> tuple[Foreseen, ...]:
    if best is None:
        return ()
    worth = [one for one in ranked if one.gain >= WORTH_IT and one is not best]
    return (best, *worth[: MOST_SHOWN - 1])


def _outlook(item: Characteristic, foreseen: Sequence[Foreseen]) -> Outlook:
    allowed = allowed_of(item)
    return Outlook(
        item.key,
        item.unit,
        item.expanded_uncertainty,
        allowed,
        None if allowed is None else item.expanded_uncertainty <= allowed,
        None if item.verdict == "no_tolerance" else item.verdict != "undecided",
        _first(_ranked(foreseen, [item], item.key)),
    )
