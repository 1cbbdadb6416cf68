"""Which reading is off, where several could be? Every place is held against the datum, so that a
wrong reading of the pivot makes sound readings of other parts look impossible.

A reading of the pivot explains what was noticed when nothing of it is left without that reading.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

import numpy as np

from app.chassis import place_bounds
from app.chassis.noticed import Noticed
from app.chassis.part_of_survey import kept
from app.chassis.place_checks import slips_of
from app.chassis.survey import Floats, Reference, Survey

REPEATED = frozenset({"pivot", "control", "pair", "level_line"})
"""Features of which one label is one place."""
AGAINST_DATUM = frozenset(
    {"point_implausible", "side_contradicts", "sides_swapped", "axes_contradict"}
)
BY_POINT = frozenset({"point_implausible", "side_contradicts"})
PIVOTS_LOOKED_AT = 8
FARTHEST_FROM_FACES_MM = 300.0
"""A face is touched beside the pivot, so that the line through two of them is no axis (ours)."""
Check = Callable[[Survey], Sequence[Noticed]]


def repeats(survey: Survey) -> Iterator[Noticed]:
    """Readings of one place that lie far apart: the mean of a wrong and a right one is no place."""
    places: dict[tuple[str, str | None], list[int]] = {}
    for i, (feature, label) in enumerate(zip(survey.feature, survey.label, strict=True)):
        if feature in REPEATED:
            places.setdefault((feature, label), []).append(i)
    for (feature, label), group in places.items():
        if len(group) < 2:
            continue
        limit = place_bounds.LONGEST_PIVOT_END_MM if feature == "pivot" else place_bounds.ROOM_MM
        apart = _widest(survey.xyz[group])
        if apart > limit:
            facts = (("label", label), ("distance_mm", apart), ("limit_mm", limit))
            yield Noticed("repeats_apart", feature, facts, tuple(group))


def _widest(points: Floats) -> float:
    return max(float(np.linalg.norm(points - one, axis=1).max()) for one in points)


def aimed(
    survey: Survey, reference: Reference, found: Sequence[Noticed], check: Check
) -> list[Noticed]:
    """What was noticed, said of the reading that is off. check: gives what is noticed of a survey.

    Where one reading of the pivot explains everything it alone is named; where the datum is in
    doubt, nothing else is said to contradict it; where nothing speaks for the datum yet, both it
    and the reading that contradicts it are named.
    """
    of_datum = [one for one in found if one.grave and one.feature == "pivot"]
    held = AGAINST_DATUM if of_datum else BY_POINT
    against = [one for one in found if one.grave and one.code in held]
    if not of_datum and not against:
        return list(found)
    pivots = [i for i, one in enumerate(survey.feature) if one == "pivot"][:PIVOTS_LOOKED_AT]
    doubts = {place for one in against for place in one.points}
    mistyped = [
        i for i in pivots if not of_datum and _mistyped(survey, reference, i, doubts, check)
    ]
    at_fault = _unexplained(against) and not _attested(survey, reference, against)
    if not of_datum and not mistyped and not at_fault:
        return list(found)
    explaining = mistyped or [i for i in pivots if _sound_without(survey, i, check)]
    rest = [one for one in found if one not in of_datum and one not in against]
    doubted = {one.points: one for one in reversed(against)}
    if len(explaining) == 1 and (of_datum or len(doubted) > 1):
        return [_off(survey, explaining[0]), *rest]
    if of_datum:
        return [*of_datum, *rest]
    if not explaining:
        return list(found)
    return [*[_either(one, explaining) for one in doubted.values()], *rest]


def _unexplained(against: Sequence[Noticed]) -> bool:
    """Whether no slip of the reading itself (another unit, a sign, a decimal point) explains it."""
    return all(dict(one.facts).get("reason", "far") == "far" for one in against)


def _attested(survey: Survey, reference: Reference, against: Sequence[Noticed]) -> bool:
    """Whether any other part lies where the datum has it."""
    datum = place_bounds.datum_of(survey)
    if datum is None or datum.left is None:
        return True
    doubted = {place for one in against for place in one.points}
    located = place_bounds.located(datum, survey.xyz)
    return any(
        feature != "pivot"
        and i not in doubted
        and place_bounds.admits(reference, datum, located[i], feature, survey.label[i])
        for i, feature in enumerate(survey.feature)
    )


def _mistyped(
    survey: Survey, reference: Reference, place: int, doubts: set[int], check: Check
) -> bool:
    """Whether a slip of one coordinate of a pivot's reading explains all that was noticed, and
    nothing else is noticed about the points in doubt."""
    return any(
        _agrees(changed, reference)
        and _sound(changed, check)
        and not any(one.grave and doubts.intersection(one.points) for one in check(changed))
        for changed in (_with(survey, place, xyz) for _, xyz in slips_of(survey.xyz[place]))
    )


def _with(survey: Survey, place: int, xyz: Floats) -> Survey:
    places = survey.xyz.copy()
    places[place] = xyz
    return replace(survey, xyz=places)


def _agrees(survey: Survey, reference: Reference) -> bool:
    """Whether every part may lie where the datum has it: asked first, as it is told at once."""
    datum = place_bounds.datum_of(survey)
    return datum is not None and all(
        feature == "pivot" or place_bounds.admits(reference, datum, place, feature, label)
        for feature, label, place in zip(
            survey.feature, survey.label, place_bounds.located(datum, survey.xyz), strict=True
        )
    )


def _sound(survey: Survey, check: Check) -> bool:
    return not any(
        one.grave and (one.feature == "pivot" or one.code in AGAINST_DATUM) for one in check(survey)
    )


def _sound_without(survey: Survey, place: int, check: Check) -> bool:
    others = kept(survey, [i for i in range(len(survey.feature)) if i != place])
    return _pivots_at_datum(others) and _sound(others, check)


def _pivots_at_datum(survey: Survey) -> bool:
    """Whether what is left of the pivot lies at the faces beside it, where these are the datum."""
    datum = place_bounds.datum_of(survey)
    if datum is None or datum.left is None:
        return True
    pivots = survey.xyz[[i for i, feature in enumerate(survey.feature) if feature == "pivot"]]
    return all(
        one.distance <= FARTHEST_FROM_FACES_MM and abs(one.side) <= place_bounds.WIDEST_MM
        for one in place_bounds.located(datum, pivots)
    )


def _off(survey: Survey, place: int) -> Noticed:
    x, y, z = survey.xyz[place].tolist()
    facts = (("label", survey.label[place]), ("x_mm", x), ("y_mm", y), ("z_mm", z))
    return Noticed("reading_off", survey.feature[place], facts, (place,))


def _either(one: Noticed, explaining: Sequence[int]) -> Noticed:
    facts = tuple([fact for fact in one.facts if fact[0] != "reason"])
    return one._replace(facts=(*facts, ("reason", "or_datum")), points=(*explaining, *one.points))
