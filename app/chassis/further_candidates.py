"""What could be measured next beyond the head: more points on lines, faces and edges."""

import math
from collections.abc import Iterable, Sequence

import numpy as np

from app.chassis.candidate_places import Candidate, NewPoint, Places, ends_of
from app.chassis.features import HALF_TURN, RIMS, SIDES
from app.chassis.survey import Floats
from app.geometry.circles import fit_circle
from app.geometry.lines import fit_line

LINES = ("rear_axle", "axis", "fork_leg")
NAMED_POINTS = ("control", "pair", "level_line")


def further_candidates(of: Places) -> Iterable[Candidate]:
    """One more point of each feature that lies beyond the head."""
    yield from _lines(of)
    yield from _points(of)
    yield from _rims(of)


def _lines(of: Places) -> Iterable[Candidate]:
    """One more point at either end of a line that is told by its own points."""
    for feature in LINES:
        labels: list[str | None] = [None] if feature == "rear_axle" else list(of.labels(feature))
        for label in labels:
            places = of.of(feature, label)
            if len(places) < 2:
                continue
            along = of.xyz @ fit_line(of.xyz[places]).direction
            for place in ends_of(places, along):
                facts = (("label", label), ("end", _end(of, feature, place, places)))
                yield Candidate("line_point", feature, facts, (of.again(place, None),))


def _end(of: Places, feature: str, place: int, places: Sequence[int]) -> str:
    """`upper` or `lower` of a leg, else `left` or `right`."""
    set_up = of.set_up
    if feature != "fork_leg":
        direction, names = np.array(set_up.pivot.direction), ("left", "right")
    elif set_up.steering is not None:
        direction, names = np.array(set_up.steering.direction), ("upper", "lower")
    else:
        direction, names = np.array(of.survey.up or (0.0, 0.0, 1.0)), ("upper", "lower")
    higher = direction @ (of.xyz[place] - of.xyz[places].mean(axis=0)) > 0.0
    return names[0] if higher else names[1]


def _points(of: Places) -> Iterable[Candidate]:
    for feature in NAMED_POINTS:
        for label in of.labels(feature):
            place = of.of(feature, label)[0]
            point = of.again(place, of.survey.station[place])
            yield Candidate("named_point", feature, (("label", label),), (point,))
    for side in SIDES:
        for place in of.of("axle_face", side)[:1]:
            point = of.again(place, None)
            yield Candidate("arm_face_point", "axle_face", (("side", side),), (point,))


def _rims(of: Places) -> Iterable[Candidate]:
    for feature in sorted(RIMS):
        turned = [i for i in of.of(feature) if of.survey.station[i] == HALF_TURN]
        for side in SIDES:
            places = [i for i in of.of(feature, side) if i not in turned]
            if len(places) < 3:
                continue
            point = NewPoint(places[0], None, _in_the_gap(of.xyz[places]))
            yield Candidate("rim_point", feature, (("side", side),), (point,))
            if not turned:
                half = tuple([of.again(i, HALF_TURN) for i in places])
                yield Candidate("rim_half_turn", feature, (("side", side),), half)


def _in_the_gap(points: Floats) -> Floats:
    """(3,): where points (n, 3) of an edge leave most of it open."""
    circle = fit_circle(points)
    first = points[0] - circle.centre
    first = first - circle.normal * (circle.normal @ first)
    second = np.cross(circle.normal, first)
    arms = points - circle.centre
    angles = np.sort(np.arctan2(arms @ second, arms @ first))
    gaps = np.diff(angles, append=angles[0] + 2.0 * math.pi)
    widest = int(gaps.argmax())
    angle = angles[widest] + gaps[widest] / 2.0
    return np.asarray(circle.centre + math.cos(angle) * first + math.sin(angle) * second)
