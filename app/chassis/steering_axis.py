"""Where the steering axis may lie: the start of its estimate, from arcs or from the bore.

The start is algebraic. The axis is the direction in which no target moves; its place makes the
distances of each target from it as equal as can be (the linear circle fit with one centre for all
targets); the station angles follow from the targets' directions round it.
"""

import cmath
import math
from collections.abc import Mapping, Sequence
from itertools import combinations
from typing import NamedTuple

import numpy as np

from app.chassis import refusals
from app.chassis.datum import farthest
from app.chassis.features import Points
from app.chassis.frames import Vector, along, cross, dot, frame_along, mean, minus, scaled, vector
from app.chassis.survey import Floats

STATIONS_NEEDED = 3
LINE_RATIO = 1e-12


class Arcs(NamedTuple):
    """Targets and stations of the points that were measured first, in the order met; and the
    returned points of the same targets."""

    places: list[int]
    targets: dict[str, list[int]]
    stations: dict[str, list[int]]
    returned: list[int]


class Start(NamedTuple):
    """Where the estimate begins: a frame along the axis, targets in it, station angles."""

    origin: Vector
    frame: Floats
    bodies: Mapping[str, Vector]
    angles: Mapping[str, float]
    """Radians; the first station of each group that shares targets is 0 and stays so."""
    fixed: frozenset[str]


def arcs(points: Points) -> tuple[Arcs, list[str]]:
    """The targets seen at two stations or more, and the names of those seen only once."""
    targets: dict[str, list[int]] = {}
    for i in points.first.get("steer_target", []):
        targets.setdefault(str(points.survey.label[i]), []).append(i)
    stations = points.survey.station
    seen_once = [name for name, places in targets.items() if len({stations[i] for i in places}) < 2]
    for name in seen_once:
        del targets[name]
    places = [i for group in targets.values() for i in group]
    by_station = _by_station(points, places)
    label = points.survey.label
    returned = [i for i in points.returned.get("steer_target", []) if label[i] in targets]
    return Arcs(places, targets, by_station, returned), seen_once


def _by_station(points: Points, places: Sequence[int]) -> dict[str, list[int]]:
    groups: dict[str, list[int]] = {}
    for i in places:
        groups.setdefault(str(points.survey.station[i]), []).append(i)
    return groups


def hardly_moved(
    arcs: Arcs, xyz: list[Vector], variance: list[float]
) -> tuple[str, float, float] | None:
    """The target that moves least of its need between its farthest stations, if that is too
    little: name, mm moved, mm needed."""
    worst = None
    for name, places in arcs.targets.items():
        moved = farthest([xyz[i] for i in places])[0]
        needed = refusals.MOVE_NEEDED_U * math.sqrt(max([variance[i] for i in places]))
        if moved < needed and (worst is None or moved / needed < worst[1] / worst[2]):
            worst = name, moved, needed
    return worst


def check_apart(points: Points, arcs: Arcs, xyz: list[Vector], variance: list[float]) -> None:
    """Raises Refusal when two targets stand at one place: one was entered twice."""
    label = points.survey.label
    for places in arcs.stations.values():
        for one, other in combinations(places, 2):
            apart = math.dist(xyz[one], xyz[other])
            needed = refusals.APART_NEEDED_U * math.sqrt(max(variance[one], variance[other]))
            if label[one] != label[other] and apart < needed:
                names = f"{label[one]}, {label[other]}"
                raise refusals.coincident_points("steer_target", apart, needed, names)


def start(
    points: Points, arcs: Arcs, bore: Sequence[int], xyz: Floats, variance: Floats, pivot: Vector
) -> Start:
    """Begin from the bore when two of its points are there, else from the arcs.

    xyz: (n, 3), mm, about a point of the pivot axis; pivot: unit vector of that axis to the left.
    The axis points up: with the head ahead of the pivot, which left and right decide. Raises
    Refusal `axes_not_crosswise`.
    """
    if len(bore) > 1:
        places = [vector(xyz[i]) for i in bore]
        apart, one, other = farthest(places)
        direction, through = scaled(minus(one, other), 1.0 / apart), mean(places)
    else:
        direction, through = _from_arcs(arcs, xyz, variance)
    crosswise = abs(dot(pivot, direction))
    if crosswise > refusals.CROSSWISE_HIGHEST:
        raise refusals.axes_not_crosswise(math.degrees(math.acos(min(1.0, crosswise))))
    if dot(cross(pivot, direction), through) < 0.0:
        direction = scaled(direction, -1.0)
    frame = frame_along(direction)
    first = arcs.places or list(bore)
    seen = first + arcs.returned
    local = (xyz.take(seen, axis=0) - through).dot(frame).tolist()
    middle = sum([z for _, _, z in local[: len(first)]]) / len(first)
    origin = along(through, middle, direction)
    if not arcs.places:
        return Start(origin, frame, {}, {}, frozenset())
    bodies, angles, fixed = _turned(points, arcs, dict(zip(seen, local, strict=True)), middle)
    return Start(origin, frame, bodies, angles, fixed)


def _from_arcs(arcs: Arcs, xyz: Floats, variance: Floats) -> tuple[Vector, Vector]:
    """Direction and a point of the axis about which all targets seem to turn.

    Raises Refusal `axis_not_determined` when they moved along one line: no circle then has its
    centre anywhere.
    """
    used = xyz.take(arcs.places, axis=0)
    first = used[0].copy()
    used -= first
    moved, begin = used.copy(), 0
    for places in arcs.targets.values():
        own = moved[begin : begin + len(places)]
        own -= own.sum(axis=0) / len(places)
        begin += len(places)
    weighted = moved.T / variance.take(arcs.places)
    spread, directions = np.linalg.eigh(weighted.dot(moved))
    if not spread[1] > LINE_RATIO * spread[2]:
        raise refusals.axis_not_determined(
            "steer_target", "condition", reciprocal_condition=float(spread[1] / spread[2])
        )
    # In the principal directions the equations of the common centre stand each for itself.
    flat = directions[:, 1:]
    across = used.dot(flat)
    square = (across * across).sum(axis=1) / 2.0
    centre = weighted.dot(square).dot(flat) / spread[1:]
    return vector(directions[:, 0]), vector(first + flat.dot(centre))


def _turned(
    points: Points, arcs: Arcs, local: Mapping[int, Sequence[float]], middle: float
) -> tuple[dict[str, Vector], dict[str, float], frozenset[str]]:
    """Places of the targets and station angles, station by station from target to target.

    middle: where along the axis the heights of the targets count from.
    """
    names = points.survey.label
    flat = {i: complex(x, y) for i, (x, y, _) in local.items()}
    known: dict[str | None, complex] = {}
    angles: dict[str, float] = {}
    fixed: list[str] = []
    waiting = {name: {names[i] for i in places} for name, places in arcs.stations.items()}
    while waiting:
        shared = (s for s, seen in waiting.items() if not seen.isdisjoint(known))
        station = next(shared, None)
        if station is None:
            station = next(iter(waiting))
            fixed.append(station)
        del waiting[station]
        places = arcs.stations[station]
        angles[station] = _angle(places, flat, names, known)
        back = cmath.exp(-1j * angles[station])
        for i in places:
            known.setdefault(names[i], flat[i] * back)
    for station, places in _by_station(points, arcs.returned).items():
        angles[station] = _angle(places, flat, names, known)
    bodies = {
        name: (
            known[name].real,
            known[name].imag,
            sum([local[i][2] for i in places]) / len(places) - middle,
        )
        for name, places in arcs.targets.items()
    }
    return bodies, angles, frozenset(fixed)


def _angle(
    places: Sequence[int],
    flat: Mapping[int, complex],
    names: Sequence[str | None],
    known: Mapping[str | None, complex],
) -> float:
    """The angle that turns the known targets into where this station shows them."""
    turn = 0j
    for i in places:
        body = known.get(names[i])
        if body is not None:
            turn += flat[i] * body.conjugate()
    return cmath.phase(turn)
