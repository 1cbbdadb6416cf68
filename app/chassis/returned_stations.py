"""A steering station measured again: which station is it, and do its targets lie as they lay there?

Nobody finds the same turn of the steering again, and nobody need: the targets, turned about the
axis that their circles tell, say which station it was and how far beside it the steering stands.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations
from typing import NamedTuple

import numpy as np

from app.chassis import place_bounds
from app.chassis.noise_check import TAIL, limit_of
from app.chassis.noticed import Noticed
from app.chassis.station_checks import SEEN_ACROSS_MM, Seen, turns_between
from app.chassis.survey import Floats, Survey
from app.geometry.circles import Circle
from app.geometry.three_points import cross

FARTHER_RAD = math.radians(10.0)
"""No return stands farther from its station than the stations from each other, plus this (ours)."""


class Returned(NamedTuple):
    """name: of the return; places: its points in the survey; station: where it stands nearest;
    turned: rad, from there; None where nothing tells the axis yet; fits: the targets lie on their
    places there, turned by that, within their uncertainties; exchanged: names of two targets that
    would lie on them if they were exchanged."""

    name: str
    places: tuple[int, ...]
    station: str
    turned: float | None
    fits: bool
    exchanged: tuple[str, str] | None


def found(seen: Seen, survey: Survey, u: Floats) -> Iterator[Returned]:
    """Each returned station that shares a target with one measured first.

    u: (n,), mm, standard uncertainty of each point.
    """
    axis = _axis(seen)
    for name, points in seen.returned.items():
        places = _places(survey, points)
        near = _nearest(seen, axis, places)
        if near is None:
            continue
        station, turn = near
        variance = seen.u**2 + float(np.median(u[list(points)])) ** 2
        fits = _fits(seen.stations[station], places, axis, turn, variance)
        exchanged = None if fits else _exchanged(seen, axis, places, variance)
        yield Returned(name, points, station, turn, fits, exchanged)


def incomplete(seen: Seen, survey: Survey) -> frozenset[int]:
    """Places in the survey of returns that lack a target which every station has: while they are
    being measured a slip of one target and a movement of the rig look the same."""
    stations = [set(places) for places in seen.stations.values()]
    every = set.intersection(*stations) if stations else set()
    return frozenset(
        place
        for points in seen.returned.values()
        if not every <= {survey.label[i] for i in points}
        for place in points
    )


def elsewhere(seen: Seen, survey: Survey, again: Sequence[Returned]) -> Iterator[Noticed]:
    """Returns that no turn of the steering brings there: something else was touched."""
    angles = turns_between(seen).values()
    if not angles:
        return
    farthest = max(angles) - min(angles) + FARTHER_RAD
    for one in again:
        if one.turned is None or one.exchanged is not None:
            continue
        if abs(one.turned) > farthest:
            turned = (("turned_deg", abs(math.degrees(one.turned))), ("station", one.station))
            facts = (*turned, ("reason", "turn"), ("limit_deg", math.degrees(farthest)))
            yield Noticed("return_elsewhere", "steer_target", facts, one.places)
            continue
        for target, mm in apart(seen, survey, one).items():
            if mm > place_bounds.ROOM_MM:
                points = tuple([i for i in one.places if survey.label[i] == target])
                yield Noticed(
                    "return_elsewhere",
                    "steer_target",
                    (("label", target), ("distance_mm", mm), ("limit_mm", place_bounds.ROOM_MM)),
                    points,
                )


def apart(seen: Seen, survey: Survey, one: Returned) -> dict[str, float]:
    """mm: how far each target of a return lies from its place at the station that it repeats, the
    steering turned back."""
    axis, stood = _axis(seen), seen.stations[one.station]
    places = _places(survey, one.places)
    return {
        target: float(np.linalg.norm(place - _turned(axis, stood[target], one.turned)))
        for target, place in places.items()
        if target in stood
    }


def _places(survey: Survey, points: Sequence[int]) -> dict[str, Floats]:
    """The mean place of each target among these points."""
    return {
        target: survey.xyz[[i for i in points if survey.label[i] == target]].mean(axis=0)
        for target in dict.fromkeys(str(survey.label[i]) for i in points)
    }


def _axis(seen: Seen) -> Circle | None:
    """The circle about the steering axis that most stations tell."""
    told = [name for name, circle in seen.circles.items() if circle.radius >= SEEN_ACROSS_MM]
    best = max(told, key=lambda name: len(seen.tracks[name]), default=None)
    return None if best is None else seen.circles[best]


def _nearest(
    seen: Seen, axis: Circle | None, places: Mapping[str, Floats]
) -> tuple[str, float | None] | None:
    """The station whose targets lie nearest, and the turn from there, rad."""
    rated = []
    for station, stood in seen.stations.items():
        shared = [target for target in places if target in stood]
        if shared:
            apart = max(float(np.linalg.norm(places[one] - stood[one])) for one in shared)
            rated.append((apart, station))
    if not rated:
        return None
    station = min(rated)[1]
    return station, _turn(seen.stations[station], places, axis)


def _turn(
    stood: Mapping[str, Floats], places: Mapping[str, Floats], axis: Circle | None
) -> float | None:
    """Rad from one set of places to another, right-handed about the axis: far targets tell more."""
    if axis is None:
        return None
    sine = cosine = 0.0
    for target, place in places.items():
        if target in stood:
            first, again = (_across(axis, one) for one in (stood[target], place))
            sine += float(cross(axis.normal, first) @ again)
            cosine += float(first @ again)
    return float(np.arctan2(sine, cosine))


def _across(axis: Circle, place: Floats) -> Floats:
    arm = place - axis.centre
    return np.asarray(arm - axis.normal * float(axis.normal @ arm))


def _turned(axis: Circle | None, place: Floats, angle: float | None) -> Floats:
    """(3,): a place turned about the axis; as it is where nobody knows that yet."""
    if axis is None or angle is None:
        return place
    across = _across(axis, place)
    sideways = cross(axis.normal, across)
    return np.asarray(place + (np.cos(angle) - 1.0) * across + np.sin(angle) * np.asarray(sideways))


def _fits(
    stood: Mapping[str, Floats],
    places: Mapping[str, Floats],
    axis: Circle | None,
    turn: float | None,
    variance: float,
) -> bool:
    """Chi-square of the places about those of the station, at 0.1 %; the turn was fitted."""
    statistic, observed = 0.0, 0
    for target, place in places.items():
        if target in stood:
            meant = _turned(axis, stood[target], turn)
            statistic += float(np.sum((place - meant) ** 2)) / variance
            observed += 3
    freedom = observed - (0 if axis is None else 1)
    return statistic <= limit_of(TAIL, freedom)


def _exchanged(
    seen: Seen, axis: Circle | None, places: Mapping[str, Floats], variance: float
) -> tuple[str, str] | None:
    """Two targets that fit a station under each other's names."""
    for one, other in combinations(places, 2):
        named = {**places, one: places[other], other: places[one]}
        near = _nearest(seen, axis, named)
        if near is not None and _fits(seen.stations[near[0]], named, axis, near[1], variance):
            return one, other
    return None
