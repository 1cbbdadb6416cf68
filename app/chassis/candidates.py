"""What could be measured next on datum and head: points, returns and stations.

All are worth a look that a person would think of; which one helps is not decided here.
"""

import math
from collections.abc import Callable, Iterable, Sequence
from itertools import pairwise

import numpy as np

from app.chassis.candidate_places import Candidate, Facts, NewPoint, Places, ends_of
from app.chassis.estimate import Axis
from app.chassis.features import SIDES, is_return
from app.chassis.further_candidates import further_candidates
from app.chassis.set_up import SetUp

BEYOND = math.radians(10.0)
WIDEST = math.radians(40.0)
"""To each side of the middle: steering stops stand hardly farther (common practice, no source)."""
STACKED_DEG, OPPOSITE_DEG = 60.0, 120.0


Station = Callable[[float, str], tuple[NewPoint, ...]]
"""The targets at an angle about the middle of what was turned, under a station's name."""


def candidates(set_up: SetUp) -> list[Candidate]:
    """All that is worth a look, the returns first: of equals the first one is suggested."""
    of = Places(set_up)
    return [
        *_datum(of),
        *_head(of),
        *_stations(of),
        *further_candidates(of),
    ]


def _datum(of: Places) -> Iterable[Candidate]:
    """A return says as much as one more point, and shows as well that the set-up stood still."""
    ends = ends_of(of.of("pivot"), of.xyz @ np.array(of.set_up.pivot.direction))
    again = {of.survey.label[i] for i in of.returned.get("pivot", [])}
    for side, place in zip(("right", "left"), ends, strict=True):
        if side in again:
            point = of.again(place, None)
            yield Candidate("pivot_point", "pivot", (("side", side),), (point,))
        else:
            point = of.again(place, of.free_return("pivot"))._replace(label=side)
            yield Candidate("pivot_return", "pivot", (("side", side),), (point,))
    for side in SIDES:
        for place in of.of("pivot_face", side)[:1]:
            back = of.again(place, of.free_return("pivot_face"))
            yield Candidate("face_return", "pivot_face", (("side", side),), (back,))
    for side in SIDES:
        places = of.of("pivot_face", side)
        if places:
            opposite = _opposite(of, places, of.set_up.pivot)
            yield Candidate("face_point", "pivot_face", (("side", side),), (opposite,))


def _head(of: Places) -> Iterable[Candidate]:
    steering = of.set_up.steering
    if steering is None:
        return
    places = of.of("head_face")
    if places:
        yield Candidate("head_face_point", "head_face", (), (_opposite(of, places, steering),))
    bore = of.of("head_bore")
    if len(bore) > 1:
        ends = ends_of(bore, of.xyz @ np.array(steering.direction))
        for end, place in zip(("lower", "upper"), ends, strict=True):
            point = of.again(place, None)
            yield Candidate("bore_point", "head_bore", (("end", end),), (point,))


def _opposite(of: Places, places: list[int], axis: Axis) -> NewPoint:
    """Across the axis from the middle of the points that are there: the lean of the face then
    counts least."""
    through, direction = of.centre + np.array(axis.point), np.array(axis.direction)
    middle = of.xyz[places].mean(axis=0)
    beside = middle - through
    beside = beside - direction * (direction @ beside)
    return NewPoint(places[0], None, middle - 2.0 * beside)


def _stations(of: Places) -> Iterable[Candidate]:
    """One more station: at the ends of what was turned, between, beyond, the first one again."""
    angles, pattern = _angles(of), _fullest(of)
    steering = of.set_up.steering
    if steering is None or not pattern or len(angles) < 2:
        return
    here = angles[str(of.survey.station[pattern[0]])]
    met = sorted(angles.values())
    middle = (met[0] + met[-1]) / 2.0

    def at(angle: float, station: str) -> tuple[NewPoint, ...]:
        turn = middle + angle - here
        return tuple([NewPoint(i, station, of.turned(i, steering, turn)) for i in pattern])

    back = tuple([of.again(i, of.free_return("steer_target")) for i in pattern])
    yield Candidate("steering_return", "steer_target", (), back)
    name = _unused(of, "more")
    for angle in _worth_measuring(met, middle):
        yield Candidate("station", "steer_target", _where(angle), at(angle, name))
    if _one_sided(of):
        yield _target(of, pattern, (met[-1] - met[0]) / 2.0, at)


def _worth_measuring(met: Sequence[float], middle: float) -> list[float]:
    """Angles about the middle of what was turned, rad."""
    half = (met[-1] - met[0]) / 2.0
    gaps = [(b - a, (a + b) / 2.0 - middle) for a, b in pairwise(met)]
    beyond = min(half + BEYOND, WIDEST)
    found = [half, -half, max(gaps)[1]]
    return [*found, beyond, -beyond] if beyond > half else found


def _where(angle: float) -> Facts:
    degrees = math.degrees(angle)
    side = "middle" if abs(degrees) < 1.0 else "left" if angle > 0.0 else "right"
    return (("angle_deg", abs(degrees)), ("side", side))


def _angles(of: Places) -> dict[str, float]:
    """Of the stations measured first, right-handed about the steering axis: to the left."""
    parameters = of.set_up.fitted.parameters
    return {
        name: 0.0 if column < 0 else float(parameters[column])
        for name, column in of.set_up.stack.turns.items()
        if not is_return(name)
    }


def _fullest(of: Places) -> list[int]:
    """One point of each target at the station that shows most of them."""
    stations = of.set_up.prepared.arcs.stations
    if not stations:
        return []
    fullest = max(stations.values(), key=lambda places: len({of.survey.label[i] for i in places}))
    return list({of.survey.label[i]: i for i in reversed(fullest)}.values())


def _unused(of: Places, stem: str) -> str:
    met = {*of.survey.station, *of.survey.label}
    return next(name for n in range(len(met) + 1) if (name := f"{stem}_{n}") not in met)


def _one_sided(of: Places) -> bool:
    """Whether the rig has one target, or two that stand badly round the axis."""
    parameters = of.set_up.fitted.parameters
    bodies = [complex(*parameters[c : c + 2]) for c in of.set_up.stack.bodies.values()]
    if len(bodies) != 2:
        return len(bodies) == 1
    turn = bodies[0] * bodies[1].conjugate()
    apart = math.degrees(abs(math.atan2(turn.imag, turn.real)))
    return not STACKED_DEG <= apart <= OPPOSITE_DEG


def _target(of: Places, pattern: list[int], half: float, at: Station) -> Candidate:
    """One more target a quarter turn from the first, at three new stations with those there are."""
    name = _unused(of, "target")
    points: list[NewPoint] = []
    for angle in (-half, 0.0, half):
        station = _unused(of, f"more_{len(points)}")
        points += at(angle, station)
        extra = at(angle + math.pi / 2.0, station)[0]
        points.append(extra._replace(label=name))
    beside = of.survey.label[pattern[0]]
    facts = (("label", beside), ("angle_deg", 90.0), ("stations", 3))
    return Candidate("target", "steer_target", facts, tuple(points))
