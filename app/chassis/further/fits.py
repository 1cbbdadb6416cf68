"""The points of each feature beyond the head, fitted: alike ones together, and each only once."""

from collections.abc import Iterable, Sequence
from typing import NamedTuple

import numpy as np

from app.chassis import refusals
from app.chassis.associated import Edge, Line
from app.chassis.features import HALF_TURN, RIMS, SIDES
from app.chassis.further.vectors import Measured
from app.chassis.survey import Floats
from app.errors import Refusal
from app.geometry.circle_edge import FittedEdge, edges_through_three, fit_circle_edge
from app.geometry.dual import Vector
from app.geometry.line_fit import fit_line
from app.geometry.mean_point import fit_point
from app.geometry.stacked import SPREAD_NEEDED_U
from app.geometry.undetermined import PointsTooClose, TooFewPoints, Undetermined

Part = tuple[Floats | float, int]
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
        """Fit at once all edges that need no search, for fewer and larger array operations.

        Nothing is refused here: what is not known after this is fitted by itself when it is asked
        for, and refused in its turn.
        """
        triples = [
            group
            for group in wanted
            if group.feature in RIMS
            and len(group.places) == 3
            and group.places not in self.scatter
            and self.measured.shared_offset(group.places) is not None
        ]
        if self.measured.slopes is None or not triples:
            return
        try:
            found = self._through_three(triples, self.measured.slopes)
        except Undetermined:
            return
        for group, edge in zip(triples, found, strict=True):
            self._keep_edge(group, edge)

    def _through_three(self, triples: Sequence[Group], slopes: Floats) -> list[FittedEdge]:
        """Raises Undetermined."""
        measured = self.measured
        rows = np.array([measured.rows(group.places) for group in triples])
        return edges_through_three(
            measured.xyz[rows],
            slopes[rows].reshape(len(triples), 9, -1),
            measured.spread.variance[[group.places for group in triples]],
            [measured.offsets[g.places[0]] * OUTWARD[str(g.label)] for g in triples],
            self.left,
        )

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
        places, measured = group.places, self.measured
        if places not in self._lines:
            points, spread = measured.vectors(places), measured.spread.of(places)
            toward = self._toward(group.feature)
            # Nearer together, first order says too little of a direction's uncertainty.
            apart_u = SPREAD_NEEDED_U if measured.over_trials else refusals.MOVE_NEEDED_U
            try:
                found = fit_line(points, spread, toward, apart_u=apart_u)
            except Undetermined as error:
                raise _refused(group, error) from None
            self._lines[places] = Line(found.point, found.direction)
            self.scatter[places] = found.chi_square, found.degrees_of_freedom
        return self._lines[places]

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
