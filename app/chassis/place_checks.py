"""Can a point lie where it was measured? Held against the reference and the points so far.

Gross mistakes alone: the wrong part, another unit, a coordinate mistyped, sides exchanged. What is
finer is for the engine's own checks, which need the whole survey.
"""

import math
from collections.abc import Iterator, Sequence

import numpy as np

from app.chassis import place_bounds
from app.chassis.features import RIMS, SIDES, is_return
from app.chassis.noticed import Noticed
from app.chassis.orientation import SHORTEST_UP
from app.chassis.place_bounds import PIVOTS_APART, Datum, Located, mean_place, room
from app.chassis.refusals import AGREEMENT_NEEDED, UNIT_MM
from app.chassis.survey import NO_TOLERANCE, Floats, Reference, Survey
from app.geometry.three_points import cross

SIDE_NEEDED_MM = 40.0
"""The datum's ends need not stand equally far out, so that its middle is known this well."""
SAME_U = 3.0
MAY_COINCIDE = frozenset({"control", "pair", "level_line", "axis"})
"""One hole may be several of these."""
TIGHT = ("pivot_face", "head_face", "rear_axle")
"""Features whose places are known well enough to suggest them."""
LOOKED_AT_MOST = 400
"""Points that are compared each with each."""


def check(survey: Survey, reference: Reference, u: Floats) -> Iterator[Noticed]:
    """What cannot be. u: (n,), standard uncertainty of each point, mm."""
    yield from _pivots(survey, reference)
    datum = place_bounds.datum_of(survey)
    if datum is not None:
        for i, place in enumerate(place_bounds.located(datum, survey.xyz)):
            if not _fits(survey, reference, datum, place, i):
                yield _cannot_be(survey, reference, datum, place, i)
        yield from _sides(survey, reference, datum)
        yield from _axes(survey, datum)
    yield from _faces(survey, reference)
    yield from _controls(survey, reference)
    yield from _same(survey, u)


def _pivots(survey: Survey, reference: Reference) -> Iterator[Noticed]:
    ends = [_places(survey, "pivot", side) for side in SIDES]
    if all(ends):
        nominal, (lowest, highest) = _width(reference), PIVOTS_APART
        if nominal is not None:
            # The axis may be touched on a bar that stands out of both ends.
            highest = min(
                highest, nominal + room(nominal) + 2.0 * place_bounds.LONGEST_PIVOT_END_MM
            )
        yield from _apart(survey, "pivot", ends, lowest, highest)


def _width(reference: Reference) -> float | None:
    return reference.characteristics.get("pivot_width", NO_TOLERANCE).nominal


def _faces(survey: Survey, reference: Reference) -> Iterator[Noticed]:
    nominal = _width(reference)
    ends = [_places(survey, "pivot_face", side) for side in SIDES]
    if nominal is not None and all(ends):
        yield from _apart(
            survey, "pivot_face", ends, nominal - room(nominal), nominal + room(nominal)
        )


def _apart(
    survey: Survey, feature: str, ends: Sequence[list[int]], lowest: float, highest: float
) -> Iterator[Noticed]:
    means = [mean_place(survey, places) for places in ends]
    distance = float(np.linalg.norm(means[0] - means[1]))
    if lowest <= distance <= highest:
        return
    unit = next((u for u, mm in UNIT_MM.items() if lowest <= distance * mm <= highest), None)
    facts = (
        ("label", SIDES[0]),
        ("other", SIDES[1]),
        ("distance_mm", distance),
        ("lowest_mm", lowest),
        ("highest_mm", highest),
        ("reason", "far" if unit is None else "unit"),
        ("unit", unit),
    )
    yield Noticed("apart_implausible", feature, facts, (*ends[0], *ends[1]))


def _places(survey: Survey, feature: str, label: str | None) -> list[int]:
    return [
        i
        for i, (f, one) in enumerate(zip(survey.feature, survey.label, strict=True))
        if f == feature and one == label
    ]


def _fits(survey: Survey, reference: Reference, datum: Datum, place: Located, i: int) -> bool:
    feature = survey.feature[i]
    return feature == "pivot" or place_bounds.admits(
        reference, datum, place, feature, survey.label[i]
    )


def _cannot_be(
    survey: Survey, reference: Reference, datum: Datum, place: Located, i: int
) -> Noticed:
    feature, label = survey.feature[i], survey.label[i]
    lowest, highest = place_bounds.bounds(reference, feature, label)
    facts = (
        ("label", label),
        ("distance_mm", place.distance),
        ("lowest_mm", lowest),
        ("highest_mm", highest),
    )
    why = _why(survey, reference, datum, i)
    return Noticed("point_implausible", feature, (*facts, *why), (i,))


def _why(
    survey: Survey, reference: Reference, datum: Datum, i: int
) -> tuple[tuple[str, str | None], ...]:
    """What would explain it: another unit, one coordinate, another part."""
    feature, label, place = survey.feature[i], survey.label[i], survey.xyz[i]

    def would_fit(changed: Floats) -> bool:
        return place_bounds.fits(reference, datum, changed, feature, label)

    for unit, mm in UNIT_MM.items():
        if would_fit(place * mm):
            return (("reason", "unit"), ("unit", unit))
    slips = [slip for slip, changed in slips_of(place) if would_fit(changed)]
    # Where several would explain it, to name one sends people to a wrong number.
    if len(slips) == 1:
        return (("reason", slips[0][0]), ("axis", slips[0][1]))
    others: list[tuple[str, str | None]] = [(one, None) for one in TIGHT if one != feature]
    others += [("control", name) for name in reference.control_points if name != label]
    near = [
        (one, name)
        for one, name in others
        if place_bounds.fits(reference, datum, place, one, name)
        and (one == "pivot_face" or _is_known(reference, one))
    ]
    if len(near) == 1:
        return (("reason", "fits"), ("fits", near[0][0]), ("fits_label", near[0][1]))
    return (("reason", "far"),)


def slips_of(place: Floats) -> Iterator[tuple[tuple[str, str], Floats]]:
    """Reason and axis of each slip of one coordinate, and the place (3,), mm, without it."""
    for reason, factor in (("sign", -1.0), ("comma", 10.0), ("comma", 0.1)):
        for axis in range(3):
            yield (reason, "XYZ"[axis]), place * np.where(np.arange(3) == axis, factor, 1.0)


def _is_known(reference: Reference, feature: str) -> bool:
    """Whether the reference says where it lies."""
    return place_bounds.bounds(reference, feature, None) != place_bounds.GENERAL.get(feature)


def _sides(survey: Survey, reference: Reference, datum: Datum) -> Iterator[Noticed]:
    left = datum.left
    if left is None:
        return
    pairs: dict[tuple[str, str], dict[str, list[int]]] = {}
    for i, (feature, label) in enumerate(zip(survey.feature, survey.label, strict=True)):
        name, _, side = (label or "").rpartition(".")
        if feature in RIMS or feature in ("pivot", "steer_target", "axis"):
            continue
        if feature == "control":
            yield from _control_side(survey, reference, datum, i)
        elif side in SIDES:
            pairs.setdefault((feature, name), {}).setdefault(side, []).append(i)
    for (feature, name), sides in pairs.items():
        along = {
            side: float((mean_place(survey, places) - datum.middle) @ left)
            for side, places in sides.items()
        }
        if len(along) == 2 and along["left"] <= along["right"]:
            facts = (("label", name or None), ("distance_mm", along["right"] - along["left"]))
            yield Noticed("sides_swapped", feature, facts, tuple(sides["left"] + sides["right"]))
        elif len(along) == 1:
            side, offset = next(iter(along.items()))
            wrong = -offset if side == "left" else offset
            if wrong > SIDE_NEEDED_MM:
                facts = (("label", survey.label[sides[side][0]]), ("distance_mm", wrong))
                yield Noticed("side_contradicts", feature, facts, tuple(sides[side]))


def _control_side(survey: Survey, reference: Reference, datum: Datum, i: int) -> Iterator[Noticed]:
    nominal = reference.control_points.get(str(survey.label[i]))
    assert datum.left is not None
    if nominal is None or abs(nominal[1]) < SIDE_NEEDED_MM:
        return
    offset = float((survey.xyz[i] - datum.middle) @ datum.left)
    wrong = -offset * math.copysign(1.0, nominal[1])
    if wrong > SIDE_NEEDED_MM:
        facts = (("label", survey.label[i]), ("distance_mm", wrong))
        yield Noticed("side_contradicts", "control", facts, (i,))


def _axes(survey: Survey, datum: Datum) -> Iterator[Noticed]:
    """The sign that the engine's orientation check looks at, as soon as a head point tells it."""
    if datum.left is None or datum.ahead is None or survey.up is None:
        return
    up = np.array(survey.up)
    length = float(np.linalg.norm(up))
    if length < SHORTEST_UP:
        return
    agreement = float(cross(datum.ahead, datum.left) @ up) / length
    if agreement < -AGREEMENT_NEEDED:
        facts = (("agreement", agreement), ("needed_agreement", AGREEMENT_NEEDED))
        yield Noticed("axes_contradict", "up", facts)


def _controls(survey: Survey, reference: Reference) -> Iterator[Noticed]:
    """Distances between control points need no datum."""
    known = [
        i
        for i, feature in enumerate(survey.feature)
        if feature == "control" and survey.label[i] in reference.control_points
    ][:LOOKED_AT_MOST]
    if len(known) < 2:
        return
    nominal = np.array([reference.control_points[str(survey.label[i])] for i in known])
    met = _distances(survey.xyz[known])
    meant = _distances(nominal)
    wrong = np.abs(met - meant) > np.maximum(place_bounds.ROOM_MM, place_bounds.ROOM_SHARE * meant)
    counts = wrong.sum(axis=1)
    while counts.max() > 0:
        # Of equals the later one: the earlier ones were told of before, or were sound.
        worst = len(counts) - 1 - int(counts[::-1].argmax())
        other = int(wrong[worst].argmax())
        facts = (
            ("label", survey.label[known[worst]]),
            ("other", survey.label[known[other]]),
            ("distance_mm", float(met[worst, other])),
            ("lowest_mm", float(meant[worst, other] - room(meant[worst, other]))),
            ("highest_mm", float(meant[worst, other] + room(meant[worst, other]))),
            ("reason", "far"),
        )
        yield Noticed("apart_implausible", "control", facts, (known[worst],))
        wrong[worst, :] = wrong[:, worst] = False
        counts = wrong.sum(axis=1)


def _distances(points: Floats) -> Floats:
    apart = points[:, np.newaxis] - points[np.newaxis]
    return np.asarray(np.sqrt(np.einsum("ijk,ijk->ij", apart, apart)))


def _same(survey: Survey, u: Floats) -> Iterator[Noticed]:
    """A reading sent twice under two names."""
    first = [
        i
        for i, station in enumerate(survey.station)
        if not (station and (is_return(station) or station == "half_turn"))
    ][:LOOKED_AT_MOST]
    if len(first) < 2:
        return
    places, squared = survey.xyz[first], (SAME_U * u[first]) ** 2
    apart = places[:, np.newaxis] - places[np.newaxis]
    near = np.einsum("ijk,ijk->ij", apart, apart) < squared[:, np.newaxis] + squared
    np.fill_diagonal(near, False)
    for a, b in np.argwhere(np.triu(near)).tolist() if near.any() else ():
        i, j = first[a], first[b]
        if _may_coincide(survey, i, j):
            continue
        facts = (
            ("label", survey.label[j]),
            ("other", survey.feature[i]),
            ("other_label", survey.label[i]),
            ("distance_mm", math.dist(places[a], places[b])),
        )
        yield Noticed("same_place", survey.feature[j], facts, (i, j))


def _may_coincide(survey: Survey, i: int, j: int) -> bool:
    features = {survey.feature[i], survey.feature[j]}
    if len(features) == 1:
        # The same point measured once more, or a target that the steering did not move.
        return survey.label[i] == survey.label[j]
    return features <= MAY_COINCIDE
