"""All rows of one survey stacked into one estimate: what was observed, and where it starts."""

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from app.chassis.features import SIDES, is_return
from app.chassis.observations import HIERARCHY, Block, HeadFace, Observations, Sides, Spacing
from app.chassis.preparation import Prepared
from app.chassis.steering_axis import Start
from app.chassis.survey import Floats

PIVOT_COLUMN, STEERING_COLUMN = 0, 4
OUTWARD = dict(zip(SIDES, (1.0, -1.0), strict=True))


class Stack(NamedTuple):
    """observations with their start (p,); which row is which point of the survey."""

    observations: Observations
    start: Floats
    places: list[int]
    """Of the points that tell the axes: pivot, targets, bore."""
    sources: tuple[tuple[str, int], ...]
    """Feature and number of its points, in order."""
    first: NDArray[np.bool_]
    """(n,): measured first, not returned."""
    returned: bool
    """Whether any of them is."""
    bodies: dict[str, int]
    """Column of each target."""
    turns: dict[str, int]
    """Column of each station's angle, -1 for a fixed one."""
    side_columns: dict[str, int]
    """Column of the place of each side that was measured."""
    side_places: dict[str, list[int]]
    head_places: list[int]

    def rows(self, feature: str) -> slice:
        """The points of a feature that tells the axes, as they stand in the rows."""
        begin = 0
        for name, count in self.sources:
            if name == feature:
                return slice(begin, begin + count)
            begin += count
        return slice(0, 0)

    def first_turns(self) -> list[int]:
        """Columns of the angles of the stations measured first."""
        return [column for name, column in self.turns.items() if not is_return(name)]


def stack(prepared: Prepared) -> Stack:
    """Rows of the axes: pivot, targets, bore; in each the points measured first, then the returns.
    Rows of the faces: left, right, head."""
    points, steering = prepared.points, prepared.steering
    groups = {"pivot": (points.first["pivot"], points.returned.get("pivot", []))}
    if steering is not None:
        bore = points.first.get("head_bore", [])
        groups["steer_target"] = (prepared.arcs.places, prepared.arcs.returned)
        groups["head_bore"] = (bore, points.returned.get("head_bore", []) if bore else [])
    places = [i for first, returned in groups.values() for i in first + returned]
    counts = {name: len(first) + len(returned) for name, (first, returned) in groups.items()}
    flags = [
        flag
        for first, again in groups.values()
        for flag in [True] * len(first) + [False] * len(again)
    ]
    position, whitening = _local(prepared, places, counts["pivot"])
    unknowns = _Unknowns(prepared, position[:, 2].tolist())
    for name, (first, returned) in groups.items():
        for i in first + returned:
            unknowns.add_point(name, i)
    of_axes = len(unknowns.start)
    side_places = _side_places(prepared)
    sides = _sides(prepared, side_places, unknowns)
    head_places = points.of("head_face") if points.first.get("head_face") else []
    head = None
    if steering is not None and head_places:
        head = _head(prepared, steering, head_places, unknowns)
    observations = Observations(
        position,
        whitening,
        np.array(unknowns.index, dtype=np.intp).T,
        _blocks(counts["pivot"], len(places)),
        _spacings(prepared, unknowns.bodies),
        sides,
        head,
        of_axes,
        len(unknowns.start),
    )
    return Stack(
        observations,
        np.array(unknowns.start),
        places,
        tuple(counts.items()),
        np.array(flags),
        False in flags,
        unknowns.bodies,
        unknowns.turns,
        unknowns.sides,
        side_places,
        head_places if head is not None else [],
    )


class _Unknowns:
    """Gives each new unknown the next column, and each point the columns it depends on."""

    def __init__(self, prepared: Prepared, along: Sequence[float]) -> None:
        steering = prepared.steering
        self.survey, self.along = prepared.points.survey, along
        self.body_start = {} if steering is None else steering.bodies
        self.turn_start = {} if steering is None else steering.angles
        self.fixed: frozenset[str] = frozenset() if steering is None else steering.fixed
        self.start: list[float] = [0.0] * (STEERING_COLUMN if steering is None else 8)
        self.index: list[tuple[int, int, int, int]] = []
        self.bodies: dict[str, int] = {}
        self.turns: dict[str, int] = {}
        self.sides: dict[str, int] = {}

    def add(self, *start: float) -> int:
        """The column of the first of some new unknowns."""
        self.start.extend(start)
        return len(self.start) - len(start)

    def add_point(self, feature: str, i: int) -> None:
        if feature == "steer_target":
            body, turn = self._body(i) + 1, self._turn(i) + 1
            self.index.append((body, body + 1, body + 2, turn))
        else:
            self.index.append((0, 0, self.add(self.along[len(self.index)]) + 1, 0))

    def _body(self, i: int) -> int:
        label = str(self.survey.label[i])
        if label not in self.bodies:
            self.bodies[label] = self.add(*self.body_start[label])
        return self.bodies[label]

    def _turn(self, i: int) -> int:
        station = str(self.survey.station[i])
        if station not in self.turns:
            moves = station not in self.fixed
            self.turns[station] = self.add(self.turn_start[station]) if moves else -1
        return self.turns[station]


def _local(prepared: Prepared, places: list[int], pivots: int) -> tuple[Floats, Floats]:
    """Positions in the frames of their blocks, and what whitens them."""
    frame, steering, uncertainty = prepared.pivot_frame, prepared.steering, prepared.uncertainty
    position = prepared.xyz.take(places, axis=0)
    position[:pivots] = position[:pivots].dot(frame)
    if steering is not None:
        position[pivots:] = (position[pivots:] - steering.origin).dot(steering.frame)
    variance = uncertainty.variance.take(places)
    if uncertainty.covariance.keys().isdisjoint(places):
        return position, 1.0 / np.sqrt(variance)[:, np.newaxis]
    covariance = np.array(
        [
            uncertainty.covariance.get(i, v * np.eye(3))
            for i, v in zip(places, variance.tolist(), strict=True)
        ]
    )
    covariance[:pivots] = frame.T @ covariance[:pivots] @ frame
    if steering is not None:
        covariance[pivots:] = steering.frame.T @ covariance[pivots:] @ steering.frame
    return position, np.linalg.inv(np.linalg.cholesky(covariance))


def _side_places(prepared: Prepared) -> dict[str, list[int]]:
    points = prepared.points
    first, again = points.first.get("pivot_face", []), points.returned.get("pivot_face", [])
    found = {}
    for side in SIDES:
        places = points.labelled(first, side)
        if places:
            found[side] = places + points.labelled(again, side)
    return found


def _sides(prepared: Prepared, places: dict[str, list[int]], unknowns: _Unknowns) -> Sides | None:
    if not places:
        return None
    every = [i for group in places.values() for i in group]
    number = [k for k, group in enumerate(places.values()) for _ in group]
    place = prepared.xyz.take(every, axis=0).dot(prepared.pivot_frame)
    sign = [OUTWARD[side] for side, group in places.items() for _ in group]
    offset = prepared.offset.take(every) * sign
    direction = prepared.pivot_frame[:, 2]
    if prepared.directions is not None:
        direction = np.array(prepared.directions[0])
    variance = prepared.uncertainty.along(every, direction)
    begins = [number.index(k) for k in range(len(places))]
    share = 1.0 / variance
    totals = np.add.reduceat(share, begins)[:, np.newaxis]
    means = np.add.reduceat(share[:, np.newaxis] * place, begins, axis=0) / totals
    nearest = (place[:, 2] - offset).take(begins).tolist()
    for side, along in zip(places, nearest, strict=True):
        unknowns.sides[side] = unknowns.add(along, 0.0)
    columns = np.array(list(unknowns.sides.values()))
    return Sides(
        place,
        offset,
        HIERARCHY / np.sqrt(variance),
        np.array(number),
        columns,
        columns + 1,
        [(x, y, z) for x, y, z in means.tolist()],
        HIERARCHY / math.tan(prepared.squareness),
    )


def _head(prepared: Prepared, steering: Start, places: list[int], unknowns: _Unknowns) -> HeadFace:
    place = (prepared.xyz.take(places, axis=0) - steering.origin).dot(steering.frame)
    offset = prepared.offset.take(places)
    direction = steering.frame[:, 2]
    if prepared.directions is not None:
        direction = np.array(prepared.directions[1])
    variance = prepared.uncertainty.along(places, direction)
    column = unknowns.add(float(place[0, 2] + offset[0]), 0.0, 0.0)
    return HeadFace(
        place,
        offset,
        HIERARCHY / np.sqrt(variance),
        STEERING_COLUMN,
        column,
        HIERARCHY / prepared.squareness,
    )


def _blocks(pivots: int, count: int) -> tuple[Block, ...]:
    pivot = Block(0, pivots, PIVOT_COLUMN)
    return (pivot,) if count == pivots else (pivot, Block(pivots, count, STEERING_COLUMN))


def _spacings(prepared: Prepared, bodies: dict[str, int]) -> tuple[Spacing, ...]:
    return tuple(
        Spacing(bodies[one], bodies[other], length, u)
        for one, other, length, u in prepared.points.survey.target_spacing
        if one in bodies and other in bodies
    )
