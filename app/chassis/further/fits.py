"""The points of each feature beyond the head, fitted: alike ones together, and each only once."""

import math
from collections.abc import Iterable, Sequence
from typing import NamedTuple

import numpy as np

from app.chassis import refusals
from app.chassis.associated import Edge, Line
from app.chassis.datum import farthest
from app.chassis.features import HALF_TURN, RIMS, SIDES
from app.chassis.frames import vector
from app.chassis.further.vectors import Measured
from app.chassis.survey import Floats
from app.errors import Refusal
from app.geometry.circle_edge import FittedEdge, edges_through_three, fit_circle_edge
from app.geometry.dual import Vector
from app.geometry.line_fit import FittedLine, fit_line, lines_through_two
from app.geometry.mean_point import fit_point
from app.geometry.undetermined import PointsTooClose, TooFewPoints, Undetermined

Part = tuple[Floats | float, int]
LINES = frozenset({"axis", "rear_axle", "fork_leg"})
OUTWARD = dict(zip(SIDES, (1.0, -1.0), strict=True))


class Group(NamedTuple):
    """Points that are fitted together."""

    feature: str
    label: str | None
    places: tuple[int, ...]


def groups(measured: Measured, feature: str, places: Sequence[int]) -> list[Group]:
    """By label, in the order met; the edges of a wheel half a turn on by themselves, after those
    as first met; all points of the rear axle are one line."""
    if feature == "rear_axle":
        return [Group(feature, None, tuple(places))]
    found = grouped(places, measured.points.survey.label)
    if feature not in RIMS:
        return [Group(feature, label, tuple(group)) for label, group in found.items()]
    station = measured.points.survey.station
    return [
        Group(feature, label, chosen)
        for label, group in found.items()
        for turned in (False, True)
        if (chosen := tuple([i for i in group if (station[i] == HALF_TURN) is turned]))
    ]


def grouped(places: Iterable[int], label: Sequence[str | None]) -> dict[str, list[int]]:
    """Places by their label, in the order met."""
    found: dict[str, list[int]] = {}
    for i in places:
        found.setdefault(label[i] or "", []).append(i)
    return found


class Fits:
    """The fits of one set of points: each group of them is fitted once, however often asked for.

    left: the pivot axis's direction (3,); upward: of the steering axis or the survey, if known.
    """

    def __init__(self, measured: Measured, left: Floats, upward: Floats | None) -> None:
        self.measured, self.left, self.upward = measured, left, upward
        self.scatter: dict[tuple[int, ...], Part] = {}
        """Chi-square and degrees of freedom of each fit, by its points."""
        self._points: dict[tuple[int, ...], Vector] = {}
        self._lines: dict[tuple[int, ...], Line] = {}
        self._edges: dict[tuple[int, ...], Edge] = {}

    def together(self, wanted: Sequence[Group]) -> None:
        """Fit at once all that needs no search, for fewer and larger array operations.

        Nothing is refused here: what is not known after this is fitted by itself when it is asked
        for, and refused in its turn.
        """
        if self.measured.slopes is None:
            return
        pairs, triples = [], []
        for group in wanted:
            if group.places in self.scatter:
                continue
            if group.feature in LINES and len(group.places) == 2:
                pairs.append(group)
            elif group.feature in RIMS and len(group.places) == 3 and self._of_one_offset(group):
                triples.append(group)
        try:
            if pairs:
                self._through_two(pairs, self.measured.slopes)
            if triples:
                self._through_three(triples, self.measured.slopes)
        except Undetermined:
            return

    def _through_two(self, pairs: Sequence[Group], slopes: Floats) -> None:
        """Raises Undetermined."""
        rows = np.array([self.measured.rows(group.places) for group in pairs])
        found = lines_through_two(
            self.measured.xyz[rows],
            slopes[rows].reshape(len(pairs), 6, -1),
            self.measured.spread.variance[[group.places for group in pairs]],
            np.array([self._toward(group.feature) for group in pairs]),
            refusals.MOVE_NEEDED_U,
        )
        for group, line in zip(pairs, found, strict=True):
            self._keep_line(group, line)

    def _through_three(self, triples: Sequence[Group], slopes: Floats) -> None:
        measured = self.measured
        rows = np.array([measured.rows(group.places) for group in triples])
        found = edges_through_three(
            measured.xyz[rows],
            slopes[rows].reshape(len(triples), 9, -1),
            measured.spread.variance[[group.places for group in triples]],
            [measured.offsets[g.places[0]] * OUTWARD[str(g.label)] for g in triples],
            self.left,
        )
        for group, edge in zip(triples, found, strict=True):
            self._keep_edge(group, edge)

    def _of_one_offset(self, group: Group) -> bool:
        return self.measured.shared_offset(group.places) is not None

    def _toward(self, feature: str) -> Floats:
        # Without a word for up, the formulas say so, and leave the fork out.
        return self.left if feature != "fork_leg" or self.upward is None else self.upward

    def point(self, group: Group) -> Vector:
        """The mean of one point's replicates."""
        places = group.places
        if len(places) == 1:
            return self.measured.vector(places[0])
        if places not in self._points:
            found = fit_point(self.measured.vectors(places), self.measured.spread.of(places))
            self._points[places] = found.point
            self.scatter[places] = found.chi_square, found.degrees_of_freedom
        return self._points[places]

    def line(self, group: Group) -> Line:
        """Raises Refusal."""
        places = group.places
        if places not in self._lines:
            self._require_apart(group)
            points, spread = self.measured.vectors(places), self.measured.spread.of(places)
            try:
                self._keep_line(group, fit_line(points, spread, self._toward(group.feature)))
            except Undetermined as error:
                raise _refused(group, error) from None
        return self._lines[places]

    def _require_apart(self, group: Group) -> None:
        """Nearer together than this, first order says too little of a direction's uncertainty."""
        places, measured = group.places, self.measured
        if len(places) < 2 or measured.xyz.ndim > 2:
            return
        apart = farthest([vector(measured.xyz[row]) for row in measured.rows(places)])[0]
        needed = refusals.MOVE_NEEDED_U * math.sqrt(measured.spread.variance.take(places).max())
        if apart < needed:
            raise refusals.coincident_points(group.feature, apart, needed, group.label)

    def edge(self, group: Group) -> Edge:
        """Raises Refusal."""
        places, measured = group.places, self.measured
        if places not in self._edges:
            try:
                found = fit_circle_edge(
                    measured.vectors(places),
                    measured.spread.of(places),
                    self.left,
                    offsets=[measured.offsets[i] for i in places],
                    side=1 if group.label == "left" else -1,
                )
            except Undetermined as error:
                raise _refused(group, error) from None
            self._keep_edge(group, found)
        return self._edges[places]

    def _keep_line(self, group: Group, found: FittedLine) -> None:
        self._lines[group.places] = Line(found.point, found.direction)
        self.scatter[group.places] = found.chi_square, found.degrees_of_freedom

    def _keep_edge(self, group: Group, found: FittedEdge) -> None:
        self._edges[group.places] = Edge(found.centre, found.normal, found.radius)
        self.scatter[group.places] = found.chi_square, found.degrees_of_freedom


def _refused(group: Group, error: Undetermined) -> Refusal:
    feature, label = group.feature, group.label
    if isinstance(error, TooFewPoints):
        return refusals.too_few_points(feature, error.met, error.needed, label)
    if isinstance(error, PointsTooClose):
        return refusals.coincident_points(feature, error.met_mm, error.needed_mm, label)
    return refusals.axis_not_determined(feature, "no_solution")
