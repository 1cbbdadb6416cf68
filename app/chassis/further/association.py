"""From the points beyond the head to the ideal features that stand for them.

The same text serves points with derivatives, points over trials, and points as they are. How far
the points scatter about their features is kept beside them, for the check of the noise.
"""

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import NamedTuple, TypeVar, cast

from app.chassis import refusals
from app.chassis.associated import Edge, Leg, Line
from app.chassis.datum import farthest
from app.chassis.features import HALF_TURN, SIDES
from app.chassis.frames import vector
from app.chassis.further.vectors import Measured
from app.chassis.survey import Floats
from app.errors import Refusal
from app.geometry.circle_edge import fit_circle_edge
from app.geometry.dual import Scalar, Vector, dot, mean, norm, square_to, unit
from app.geometry.line_fit import fit_line
from app.geometry.mean_point import fit_point
from app.geometry.undetermined import PointsTooClose, TooFewPoints, Undetermined

Part = tuple[Floats | float, int]
OUTWARD = dict(zip(SIDES, (1.0, -1.0), strict=True))
Fit = TypeVar("Fit", Vector, Line, Edge)
POINT_FEATURES = ("control", "pair", "level_line")


class FurtherFeatures(NamedTuple):
    """As in `Associated`; scatter: chi-square and degrees of freedom of each fit."""

    points: Mapping[str, Mapping[str, Vector]]
    lines: Mapping[str, Line]
    rear_axle: Line | None
    axle_ends: Mapping[str, Vector]
    legs: Mapping[str, Leg]
    rims: Mapping[str, Mapping[str, Edge]]
    scatter: list[Part]
    fitted: list[tuple[int, ...]]
    """The points of each fit, in the order of `scatter`."""


class Fits:
    """The fits of one set of points: each group of them is fitted once, however often asked for.

    left: the pivot axis's direction (3,); upward: of the steering axis or the survey, if known.
    """

    def __init__(self, measured: Measured, left: Floats, upward: Floats | None) -> None:
        self.measured, self.left, self.upward = measured, left, upward
        self._known: dict[tuple[int, ...], tuple[Vector | Line | Edge, Part]] = {}
        self._scatter: list[Part] = []
        self._fitted: list[tuple[int, ...]] = []

    def features(self, chosen: Mapping[str, list[int]]) -> FurtherFeatures:
        """chosen: places of each feature. Raises Refusal."""
        self._scatter, self._fitted = [], []
        points = {
            feature: {
                label: self._point(places) for label, places in self._by_label(chosen[feature])
            }
            for feature in POINT_FEATURES
            if feature in chosen
        }
        lines = {
            label: self._line("axis", label, places, self.left)
            for label, places in self._by_label(chosen.get("axis", []))
        }
        axle = chosen.get("rear_axle", [])
        return FurtherFeatures(
            points,
            lines,
            self._line("rear_axle", None, axle, self.left) if axle else None,
            {
                label: mean(self._vectors(places))
                for label, places in self._by_label(axle)
                if label in SIDES
            },
            self._legs(chosen.get("fork_leg", [])),
            {
                wheel: self._edges(f"{wheel}_rim", chosen[f"{wheel}_rim"])
                for wheel in ("front", "rear")
                if f"{wheel}_rim" in chosen
            },
            self._scatter,
            self._fitted,
        )

    def _by_label(self, places: list[int]) -> Iterator[tuple[str, list[int]]]:
        label = self.measured.points.survey.label
        return iter(grouped(places, label).items())

    def _vectors(self, places: list[int]) -> list[Vector]:
        return [self.measured.vectors[i] for i in places]

    def _legs(self, places: list[int]) -> dict[str, Leg]:
        # Without a word for up, the formulas say so, and leave the fork out.
        toward = self.left if self.upward is None else self.upward
        return {
            side: Leg(
                self._line("fork_leg", side, group, toward),
                mean(self._vectors(group)),
                len(group),
            )
            for side, group in self._by_label(places)
        }

    def _point(self, places: list[int]) -> Vector:
        if len(places) == 1:
            return self.measured.vectors[places[0]]

        def fit() -> tuple[Vector, Part]:
            found = fit_point(self._vectors(places), self.measured.spread.of(places))
            return found.point, (found.chi_square, found.degrees_of_freedom)

        return self._once(places, fit)

    def _line(self, feature: str, label: str | None, places: list[int], toward: Floats) -> Line:
        def fit() -> tuple[Line, Part]:
            self._require_apart(feature, label, places)
            try:
                found = fit_line(self._vectors(places), self.measured.spread.of(places), toward)
            except Undetermined as error:
                raise _refused(feature, label, error) from None
            line = Line(found.point, found.direction)
            return line, (found.chi_square, found.degrees_of_freedom)

        return self._once(places, fit)

    def _require_apart(self, feature: str, label: str | None, places: list[int]) -> None:
        """Nearer together than this, first order says too little of a direction's uncertainty."""
        if len(places) < 2 or self.measured.vectors[places[0]].value.ndim > 1:
            return
        apart = farthest([vector(self.measured.vectors[i].value) for i in places])[0]
        needed = refusals.MOVE_NEEDED_U * math.sqrt(self.measured.spread.variance[places].max())
        if apart < needed:
            raise refusals.coincident_points(feature, apart, needed, label)

    def _edges(self, feature: str, places: list[int]) -> dict[str, Edge]:
        """By side. Raises Refusal `pair_swapped`.

        A wheel may stand turned, and its edges may have been touched in different places, or all
        in a short arc: they are exchanged when they lie so along the pivot axis as well as along
        the wheel's own axle.
        """
        groups = dict(self._by_label(places))
        edges = {side: self._edge(feature, side, group) for side, group in groups.items()}
        if len(edges) == 2 and edges["left"].centre.value.ndim == 1:
            left, right = (mean(self._vectors(groups[side])) for side in SIDES)
            across = edges["left"].centre.value - edges["right"].centre.value
            apart = float(across @ edges["left"].normal.value)
            if apart <= 0.0 and (left.value - right.value) @ self.left <= 0.0:
                raise refusals.pair_swapped(feature, None, apart)
        return edges

    def _edge(self, feature: str, side: str, places: list[int]) -> Edge:
        """Half a turn on, the run-out of the wheel shows the other way round: the mean is free of
        it."""
        station = self.measured.points.survey.station
        turned = [i for i in places if station[i] == HALF_TURN]
        groups = [[i for i in places if i not in turned], turned]
        found = [self._one_edge(feature, side, group) for group in groups if group]
        if len(found) == 1:
            return found[0]
        return Edge(
            mean([edge.centre for edge in found]),
            unit(mean([edge.normal for edge in found])),
            mean([edge.radius for edge in found]),
        )

    def _one_edge(self, feature: str, side: str, places: list[int]) -> Edge:
        def fit() -> tuple[Edge, Part]:
            try:
                found = fit_circle_edge(
                    self._vectors(places),
                    self.measured.spread.of(places),
                    self.left,
                    offsets=[self.measured.offsets[i] for i in places],
                    side=1 if side == "left" else -1,
                )
            except Undetermined as error:
                raise _refused(feature, side, error) from None
            edge = Edge(found.centre, found.normal, found.radius)
            return edge, (found.chi_square, found.degrees_of_freedom)

        return self._once(places, fit)

    def _once(self, places: list[int], fit: Callable[[], tuple[Fit, Part]]) -> Fit:
        key = tuple(places)
        if key not in self._known:
            self._known[key] = fit()
        found, part = self._known[key]
        self._scatter.append(part)
        self._fitted.append(key)
        return cast(Fit, found)


def grouped(places: list[int], label: Sequence[str | None]) -> dict[str, list[int]]:
    """Places by their label, in the order met."""
    groups: dict[str, list[int]] = {}
    for i in places:
        groups.setdefault(label[i] or "", []).append(i)
    return groups


class FaceMiddle(NamedTuple):
    """Weighted mean of the points of a face of the arm, and of their offsets, outward to the left
    positive, mm."""

    centre: Vector
    offset: Scalar

    def place(self, left: Vector) -> Scalar:
        """Along the pivot axis, mm."""
        return dot(left, self.centre) - self.offset


def axle_middles(measured: Measured, places: list[int], left: Floats) -> dict[str, FaceMiddle]:
    """The faces of the arm by side; left: the pivot axis's direction (3,), which sets weights."""
    found = {}
    for side, group in grouped(places, measured.points.survey.label).items():
        weights = 1.0 / measured.spread.along(group, left)
        weights /= weights.sum()
        shares = list(zip(group, weights.tolist(), strict=True))
        centre = [measured.vectors[i] * weight for i, weight in shares]
        offset = [measured.offsets[i] * (weight * OUTWARD[side]) for i, weight in shares]
        found[side] = FaceMiddle(sum(centre[1:], start=centre[0]), sum(offset[1:], start=offset[0]))
    return found


def axle_faces(
    measured: Measured, middles: Mapping[str, FaceMiddle], left: Vector, axle: Line | None
) -> dict[str, Scalar]:
    """Place of each face of the arm along the pivot axis, mm, by side.

    A face that leans out of square shifts its place by what the lean makes at the mean point's
    distance from the axle.
    """
    found = {}
    for side, middle in middles.items():
        place = middle.place(left)
        if axle is not None and side in measured.leans:
            lever = norm(square_to(middle.centre - axle.point, axle.direction))
            place = place + measured.leans[side] * lever
        found[side] = place
    return found


def _refused(feature: str, label: str | None, error: Undetermined) -> Refusal:
    if isinstance(error, TooFewPoints):
        return refusals.too_few_points(feature, error.met, error.needed, label)
    if isinstance(error, PointsTooClose):
        return refusals.coincident_points(feature, error.met_mm, error.needed_mm, label)
    return refusals.axis_not_determined(feature, "no_solution")
