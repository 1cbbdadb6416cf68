"""All points of both axes stacked into one estimate: rows, unknowns and where they start."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from app.chassis.axes import Block, Observations, Spacing
from app.chassis.features import Points, is_return
from app.chassis.steering_axis import Arcs, Start
from app.chassis.survey import Floats
from app.chassis.uncertainty import PointUncertainty

PIVOT_COLUMN, STEERING_COLUMN = 0, 4


@dataclass(frozen=True, slots=True)
class Stack:
    """observations with their start (p,); which row is which point of the survey."""

    observations: Observations
    start: Floats
    places: list[int]
    sources: tuple[tuple[str, int], ...]
    """Feature and number of its rows, in order."""
    first: NDArray[np.bool_]
    """(n,): measured first, not returned."""
    bodies: dict[str, int]
    """Column of each target."""
    turns: dict[str, int]
    """Column of each station's angle, -1 for a fixed one."""

    def rows(self, feature: str) -> slice:
        """The rows of a feature, counted in points."""
        begin = 0
        for name, count in self.sources:
            if name == feature:
                return slice(begin, begin + count)
            begin += count
        return slice(0, 0)

    def first_turns(self) -> list[int]:
        """Columns of the angles of the stations measured first."""
        return [column for name, column in self.turns.items() if not is_return(name)]


def stack(
    points: Points,
    arcs: Arcs,
    pivot_frame: Floats,
    steering: Start | None,
    xyz: Floats,
    uncertainty: PointUncertainty,
) -> Stack:
    """Rows: pivot, targets, bore; in each the points measured first, then the returns.

    xyz: (n, 3), mm, about the pivot; a return whose first measurement is missing is not taken.
    """
    pivot = (points.first["pivot"], points.returned.get("pivot", []))
    groups = {"pivot": pivot}
    if steering is not None:
        bore = points.first.get("head_bore", [])
        groups["steer_target"] = (arcs.places, arcs.returned)
        groups["head_bore"] = (bore, points.returned.get("head_bore", []) if bore else [])
    places = [i for first, returned in groups.values() for i in first + returned]
    counts = {name: len(first) + len(returned) for name, (first, returned) in groups.items()}
    flags = [[True] * len(first) + [False] * len(again) for first, again in groups.values()]
    position, whitening = _local(places, counts["pivot"], pivot_frame, steering, xyz, uncertainty)
    layout = _Layout(points, steering, position[:, 2].tolist())
    for name, (first, returned) in groups.items():
        for i in first + returned:
            layout.add(name, i)
    observations = Observations(
        position,
        whitening,
        np.array(layout.index, dtype=np.intp).T,
        _blocks(counts["pivot"], len(places)),
        _spacings(points, layout.bodies),
        len(layout.start),
    )
    return Stack(
        observations,
        np.array(layout.start),
        places,
        tuple(counts.items()),
        np.array([flag for group in flags for flag in group]),
        layout.bodies,
        layout.turns,
    )


class _Layout:
    """Gives each new unknown the next column, and each point the columns it depends on."""

    def __init__(self, points: Points, steering: Start | None, along: Sequence[float]) -> None:
        self.points, self.along = points, along
        self.body_start = {} if steering is None else steering.bodies
        self.turn_start = {} if steering is None else steering.angles
        self.fixed: frozenset[str] = frozenset() if steering is None else steering.fixed
        self.start: list[float] = [0.0] * (STEERING_COLUMN if steering is None else 8)
        self.index: list[tuple[int, int, int, int]] = []
        self.bodies: dict[str, int] = {}
        self.turns: dict[str, int] = {}

    def add(self, feature: str, i: int) -> None:
        if feature == "steer_target":
            body, turn = self._body(i) + 1, self._turn(i) + 1
            self.index.append((body, body + 1, body + 2, turn))
        else:
            self.start.append(self.along[len(self.index)])
            self.index.append((0, 0, len(self.start), 0))

    def _body(self, i: int) -> int:
        label = str(self.points.survey.label[i])
        if label not in self.bodies:
            self.bodies[label] = len(self.start)
            self.start.extend(self.body_start[label])
        return self.bodies[label]

    def _turn(self, i: int) -> int:
        station = str(self.points.survey.station[i])
        if station not in self.turns:
            self.turns[station] = -1 if station in self.fixed else len(self.start)
            if station not in self.fixed:
                self.start.append(self.turn_start[station])
        return self.turns[station]


def _local(
    places: list[int],
    pivots: int,
    pivot_frame: Floats,
    steering: Start | None,
    xyz: Floats,
    uncertainty: PointUncertainty,
) -> tuple[Floats, Floats]:
    """Positions in the frames of their blocks, and what whitens them."""
    position = xyz[places]
    position[:pivots] = position[:pivots] @ pivot_frame
    if steering is not None:
        position[pivots:] = (position[pivots:] - steering.origin) @ steering.frame
    variance = uncertainty.variance[places]
    if uncertainty.covariance.keys().isdisjoint(places):
        return position, 1.0 / np.sqrt(variance)[:, np.newaxis]
    covariance = np.array(
        [
            uncertainty.covariance.get(i, v * np.eye(3))
            for i, v in zip(places, variance.tolist(), strict=True)
        ]
    )
    covariance[:pivots] = pivot_frame.T @ covariance[:pivots] @ pivot_frame
    if steering is not None:
        covariance[pivots:] = steering.frame.T @ covariance[pivots:] @ steering.frame
    return position, np.linalg.inv(np.linalg.cholesky(covariance))


def _blocks(pivots: int, count: int) -> tuple[Block, ...]:
    pivot = Block(0, pivots, PIVOT_COLUMN)
    return (pivot,) if count == pivots else (pivot, Block(pivots, count, STEERING_COLUMN))


def _spacings(points: Points, bodies: dict[str, int]) -> tuple[Spacing, ...]:
    return tuple(
        Spacing(bodies[one], bodies[other], length, u)
        for one, other, length, u in points.survey.target_spacing
        if one in bodies and other in bodies
    )
