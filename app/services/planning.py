"""What to measure next: the engine's plan in words. Nothing is stored."""

from app.chassis import needs, planning
from app.chassis.needs import Need
from app.chassis.planning import Foreseen, Outlook, Plan
from app.chassis.refusals import POINTS_NEEDED, too_few_points
from app.chassis.survey import Options
from app.errors import Refusal
from app.schemas.planning import NeedOut, OutlookOut, PlanOut, SuggestionOut
from app.schemas.reference import ReferenceIn
from app.schemas.survey import SurveyIn
from app.services.solving import reference_to_engine, to_engine
from app.wording import planning as words
from app.wording.errors import explain
from app.wording.labels import characteristic as name_of


def plan(
    survey: SurveyIn, reference: ReferenceIn | None = None, threshold: float = 0.95
) -> PlanOut:
    """How far the points so far lead, and which further point or station leads farthest.

    Raises Refusal where something is wrong that no further point would set right.
    """
    made = planning.plan(
        to_engine(survey), reference_to_engine(reference), Options(threshold=threshold)
    )
    return in_words(made)


def nothing_measured() -> PlanOut:
    """The plan before the first point: begin with the datum."""
    need = needs.first_of_all(too_few_points("pivot", 0, POINTS_NEEDED["pivot"]))
    return _only_first({"code": need.code, "feature": need.feature, "message": words.begin()})


def first_put_right(code: str, feature: str | None, sentence: str) -> PlanOut:
    """The plan while a reading stands that cannot be: nothing follows from it."""
    message = words.first_put_right(sentence)
    return _only_first({"code": code, "feature": feature, "message": message})


def _only_first(need: NeedOut) -> PlanOut:
    made = in_words(Plan(None, (), (), None, None, ()))
    return {**made, "message": need["message"], "needed_first": need}


def in_words(made: Plan) -> PlanOut:
    """The engine's plan with its sentences."""
    now = {one.key: one for one in made.outlooks}
    first = None if made.needed_first is None else _first(made.needed_first)
    return {
        "message": first["message"] if first else _overall(made),
        "needed_first": first,
        "still_needed": [_still(one) for one in made.still_needed],
        "characteristics": [_outlook(one) for one in made.outlooks],
        "looked_at": made.looked_at,
        "best": None if made.best is None else _suggestion(made.best, now.get(_key(made))),
        "candidates": [_suggestion(one, now.get(_key(made))) for one in made.candidates],
    }


def _overall(made: Plan) -> str:
    limited = [one for one in made.outlooks if one.decided is not None]
    not_decided = [one.key for one in limited if not one.decided]
    return words.overall(not_decided, len(limited), len(made.still_needed))


def _key(made: Plan) -> str:
    return made.looked_at or ""


def _first(need: Need) -> NeedOut:
    refusal = Refusal(need.code, need.feature, **dict(need.facts))
    return {"code": need.code, "feature": need.feature, "message": explain(refusal).sentence}


def _still(need: Need) -> NeedOut:
    message = words.need(need.code, dict(need.facts))
    return {"code": need.code, "feature": need.feature, "message": message}


def _outlook(one: Outlook) -> OutlookOut:
    return {
        "key": one.key,
        "name": name_of(one.key),
        "unit": one.unit,
        "expanded_uncertainty": one.expanded_uncertainty,
        "allowed": one.allowed,
        "enough": one.enough,
        "decided": one.decided,
        "message": words.stands(
            one.key, one.unit, one.expanded_uncertainty, one.allowed, decided=one.decided
        ),
        "best": None if one.best is None else _suggestion(one.best, one),
    }


def _suggestion(one: Foreseen, of: Outlook | None) -> SuggestionOut:
    """In words for one characteristic; None: for all together."""
    candidate, facts = one.candidate, dict(one.candidate.facts)
    begin = words.what(candidate.code, candidate.feature, facts)
    allowed, suffices = None if of is None else of.allowed, None
    if of is None or of.key not in one.expanded:
        message = words.helps_all(begin, one.gain)
    else:
        then = one.expanded[of.key]
        suffices = None if allowed is None else then <= allowed
        message = words.brings(
            begin,
            of.key,
            of.unit,
            of.expanded_uncertainty,
            then,
            allowed,
            decided=of.decided is True,
        )
    return {
        "code": candidate.code,
        "feature": candidate.feature,
        "facts": facts,
        "points": len(candidate.points),
        "gain": one.gain,
        "expanded_uncertainty": dict(one.expanded),
        "suffices": suffices,
        "message": message,
    }
