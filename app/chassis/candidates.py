"""What could be measured next: single points and stations, placed where a person would take them.

Each is simulated where the fitted axes say that it would be found, in the instrument's axes. A
point copies its uncertainty, offset and name from one that was measured (its pattern). Where the
growth by warmth moves such a place, it does so by less than a hand does.
"""

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from app.chassis.estimate import Axis
from app.chassis.features import HALF_TURN, RIMS, SIDES, is_return
from app.chassis.set_up import SetUp
from app.chassis.survey import Floats, Survey
from app.geometry.circles import fit_circle
from app.geometry.lines import fit_line

Facts = tuple[tuple[str, str | int | float | None], ...]

BEYOND = math.radians(10.0)
WIDEST = math.radians(40.0)
"""To each side of the middle: steering stops stand hardly farther (common practice, no source)."""
STACKED_DEG, OPPOSITE_DEG = 60.0, 120.0
LINES = ("rear_axle", "axis", "fork_leg")
NAMED_POINTS = ("control", "pair", "level_line")


class NewPoint(NamedTuple):
    """xyz: (3,), mm, in the instrument's axes; pattern: the point of the survey that it is like."""

    pattern: int
    station: str | None
    xyz: Floats
    label: str | None = None
    """None: the pattern's."""


Station = Callable[[float, str], tuple[NewPoint, ...]]
"""The targets at an angle about the middle of what was turned, under a station's name."""


class Candidate(NamedTuple):
    """code: what it is (`pivot_return`, `pivot_point`, `face_return`, `face_point`,
    `head_face_point`, `bore_point`, `station`, `steering_return`, `target`, `line_point`,
    `named_point`, `arm_face_point`, `rim_point`, `rim_half_turn`).

    facts: `side`, `end`, `label`, `angle_deg`, `stations`, as far as the code needs them.
    """

    code: str
    feature: str
    facts: Facts
    points: tuple[NewPoint, ...]


def candidates(set_up: SetUp) -> list[Candidate]:
    """All that is worth a look, the returns first: of equals the first one is suggested."""
    of = _Places(set_up)
    return [
        *_datum(of),
        *_head(of),
        *_stations(of),
        *_further_lines(of),
        *_further_points(of),
        *_rims(of),
    ]


class _Places:
    """The survey's points as measured, and the fitted axes, in the instrument's axes."""

    def __init__(self, set_up: SetUp) -> None:
        self.set_up = set_up
        self.survey: Survey = set_up.prepared.points.survey
        self.first = set_up.prepared.points.first
        self.returned = set_up.prepared.points.returned
        self.xyz = self.survey.xyz
        self.centre = self.xyz[self.first["pivot"]].mean(axis=0)

    def of(self, feature: str, label: str | None = None) -> list[int]:
        places = self.first.get(feature, [])
        return places if label is None else [i for i in places if self.survey.label[i] == label]

    def labels(self, feature: str) -> list[str]:
        found = dict.fromkeys(str(self.survey.label[i]) for i in self.of(feature))
        return sorted(found)

    def turned(self, place: int, axis: Axis, angle: float) -> Floats:
        """A point turned about an axis, right-handed (Rodrigues' formula)."""
        direction, through = np.array(axis.direction), self.centre + np.array(axis.point)
        arm = self.xyz[place] - through
        along = direction * (direction @ arm)
        across = arm - along
        return np.asarray(
            through
            + along
            + math.cos(angle) * across
            + math.sin(angle) * np.cross(direction, across)
        )

    def again(self, place: int, station: str | None) -> NewPoint:
        return NewPoint(place, station, self.xyz[place])

    def free_return(self, feature: str) -> str:
        """A name for one more return."""
        met = {self.survey.station[i] for i in self.returned.get(feature, [])}
        names: Iterator[str] = (f"return{n}" if n > 1 else "return" for n in range(1, len(met) + 2))
        return next(name for name in names if name not in met)


def _datum(of: _Places) -> Iterable[Candidate]:
    """A return says as much as one more point, and shows as well that the set-up stood still."""
    ends = _ends(of.of("pivot"), of.xyz @ np.array(of.set_up.pivot.direction))
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


def _head(of: _Places) -> Iterable[Candidate]:
    steering = of.set_up.steering
    if steering is None:
        return
    places = of.of("head_face")
    if places:
        yield Candidate("head_face_point", "head_face", (), (_opposite(of, places, steering),))
    bore = of.of("head_bore")
    if len(bore) > 1:
        ends = _ends(bore, of.xyz @ np.array(steering.direction))
        for end, place in zip(("lower", "upper"), ends, strict=True):
            point = of.again(place, None)
            yield Candidate("bore_point", "head_bore", (("end", end),), (point,))


def _opposite(of: _Places, places: list[int], axis: Axis) -> NewPoint:
    """Across the axis from the middle of the points that are there: the lean of the face then
    counts least."""
    through, direction = of.centre + np.array(axis.point), np.array(axis.direction)
    middle = of.xyz[places].mean(axis=0)
    beside = middle - through
    beside = beside - direction * (direction @ beside)
    return NewPoint(places[0], None, middle - 2.0 * beside)


def _ends(places: Sequence[int], along: Floats) -> tuple[int, int]:
    """The places that stand lowest and highest along a direction."""
    return min(places, key=along.__getitem__), max(places, key=along.__getitem__)


def _stations(of: _Places) -> Iterable[Candidate]:
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


def _angles(of: _Places) -> dict[str, float]:
    """Of the stations measured first, right-handed about the steering axis: to the left."""
    parameters = of.set_up.fitted.parameters
    return {
        name: 0.0 if column < 0 else float(parameters[column])
        for name, column in of.set_up.stack.turns.items()
        if not is_return(name)
    }


def _fullest(of: _Places) -> list[int]:
    """One point of each target at the station that shows most of them."""
    stations = of.set_up.prepared.arcs.stations
    if not stations:
        return []
    fullest = max(stations.values(), key=lambda places: len({of.survey.label[i] for i in places}))
    return list({of.survey.label[i]: i for i in reversed(fullest)}.values())


def _unused(of: _Places, stem: str) -> str:
    met = {*of.survey.station, *of.survey.label}
    return next(name for n in range(len(met) + 1) if (name := f"{stem}_{n}") not in met)


def _one_sided(of: _Places) -> bool:
    """Whether the rig has one target, or two that stand badly round the axis."""
    parameters = of.set_up.fitted.parameters
    bodies = [complex(*parameters[c : c + 2]) for c in of.set_up.stack.bodies.values()]
    if len(bodies) != 2:
        return len(bodies) == 1
    turn = bodies[0] * bodies[1].conjugate()
    apart = math.degrees(abs(math.atan2(turn.imag, turn.real)))
    return not STACKED_DEG <= apart <= OPPOSITE_DEG


def _target(of: _Places, pattern: list[int], half: float, at: Station) -> Candidate:
    """One more target a quarter turn from the first, at three new stations with those there are."""
    name, points = _unused(of, "target"), []
    for angle in (-half, 0.0, half):
        station = _unused(of, f"more_{len(points)}")
        points += at(angle, station)
        extra = at(angle + math.pi / 2.0, station)[0]
        points.append(extra._replace(label=name))
    beside = of.survey.label[pattern[0]]
    facts = (("label", beside), ("angle_deg", 90.0), ("stations", 3))
    return Candidate("target", "steer_target", facts, tuple(points))


def _further_lines(of: _Places) -> Iterable[Candidate]:
    """One more point at either end of a line that is told by its own points."""
    for feature in LINES:
        labels: list[str | None] = [None] if feature == "rear_axle" else list(of.labels(feature))
        for label in labels:
            places = of.of(feature, label)
            if len(places) < 2:
                continue
            along = of.xyz @ fit_line(of.xyz[places]).direction
            for place in _ends(places, along):
                facts = (("label", label), ("end", _end(of, feature, place, places)))
                yield Candidate("line_point", feature, facts, (of.again(place, None),))


def _end(of: _Places, feature: str, place: int, places: Sequence[int]) -> str:
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


def _further_points(of: _Places) -> Iterable[Candidate]:
    for feature in NAMED_POINTS:
        for label in of.labels(feature):
            place = of.of(feature, label)[0]
            point = of.again(place, of.survey.station[place])
            yield Candidate("named_point", feature, (("label", label),), (point,))
    for side in SIDES:
        for place in of.of("axle_face", side)[:1]:
            point = of.again(place, None)
            yield Candidate("arm_face_point", "axle_face", (("side", side),), (point,))


def _rims(of: _Places) -> Iterable[Candidate]:
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
