"""From the points beyond the head to the ideal features that stand for them.

The same text serves points with derivatives, points over trials, and points as they are. How far
the points scatter about their features is kept beside them, for the check of the noise.
"""

from collections.abc import Iterator, Mapping
from typing import NamedTuple

from app.chassis import refusals
from app.chassis.associated import Edge, Leg, Line
from app.chassis.features import HALF_TURN, SIDES
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
POINT_FEATURES = ("control", "pair", "level_line")


class Fitted(NamedTuple):
    """What stands for one feature of one label, and how its points scatter about it."""

    what: Vector | Line | Edge
    scatter: Part


class FurtherFeatures(NamedTuple):
    """As in `Associated`; scatter: chi-square and degrees of freedom of each fit."""

    points: Mapping[str, Mapping[str, Vector]]
    lines: Mapping[str, Line]
    rear_axle: Line | None
    axle_ends: Mapping[str, Vector]
    legs: Mapping[str, Leg]
    rims: Mapping[str, Mapping[str, Edge]]
    scatter: list[Part]


def associate(
    measured: Measured,
    further: Mapping[str, list[int]],
    left: Floats,
    upward: Floats | None,
) -> FurtherFeatures:
    """further: places of each feature; left: the pivot axis's direction (3,); upward: of the
    steering axis or the survey, without which fork legs are left out. Raises Refusal."""
    scatter: list[Part] = []
    points: dict[str, dict[str, Vector]] = {}
    for feature in POINT_FEATURES:
        for label, places in _by_label(measured, further.get(feature, [])):
            points.setdefault(feature, {})[label] = _point(measured, places, scatter)
    lines = {}
    for label, places in _by_label(measured, further.get("axis", [])):
        lines[label] = _line(measured, "axis", label, places, left, scatter)
    axle = further.get("rear_axle", [])
    rear_axle = _line(measured, "rear_axle", None, axle, left, scatter) if axle else None
    legs = {}
    if upward is not None:
        for side, places in _by_label(measured, further.get("fork_leg", [])):
            line = _line(measured, "fork_leg", side, places, upward, scatter)
            legs[side] = Leg(line, mean(_vectors(measured, places)), len(places))
    rims: dict[str, dict[str, Edge]] = {}
    for wheel in ("front", "rear"):
        for side, places in _by_label(measured, further.get(f"{wheel}_rim", [])):
            edge = _edge(measured, f"{wheel}_rim", side, places, left, scatter)
            rims.setdefault(wheel, {})[side] = edge
    ends = {
        label: mean(_vectors(measured, places))
        for label, places in _by_label(measured, axle)
        if label in SIDES
    }
    return FurtherFeatures(points, lines, rear_axle, ends, legs, rims, scatter)


def _by_label(measured: Measured, places: list[int]) -> Iterator[tuple[str, list[int]]]:
    label = measured.points.survey.label
    groups: dict[str, list[int]] = {}
    for i in places:
        groups.setdefault(label[i] or "", []).append(i)
    return iter(groups.items())


def _vectors(measured: Measured, places: list[int]) -> list[Vector]:
    return [measured.vectors[i] for i in places]


def _point(measured: Measured, places: list[int], scatter: list[Part]) -> Vector:
    if len(places) == 1:
        return measured.vectors[places[0]]
    found = fit_point(_vectors(measured, places), measured.spread.of(places))
    scatter.append((found.chi_square, found.degrees_of_freedom))
    return found.point


def _line(
    measured: Measured,
    feature: str,
    label: str | None,
    places: list[int],
    toward: Floats,
    scatter: list[Part],
) -> Line:
    try:
        found = fit_line(_vectors(measured, places), measured.spread.of(places), toward)
    except Undetermined as error:
        raise _refused(feature, label, error) from None
    scatter.append((found.chi_square, found.degrees_of_freedom))
    return Line(found.point, found.direction)


def _edge(
    measured: Measured,
    feature: str,
    side: str,
    places: list[int],
    left: Floats,
    scatter: list[Part],
) -> Edge:
    """Half a turn on, the wheel's run-out shows the other way round: the mean is free of it."""
    station = measured.points.survey.station
    turned = [i for i in places if station[i] == HALF_TURN]
    groups = [[i for i in places if i not in turned], turned]
    found = [_one_edge(measured, feature, side, group, left, scatter) for group in groups if group]
    if len(found) == 1:
        return found[0]
    return Edge(
        mean([edge.centre for edge in found]),
        unit(mean([edge.normal for edge in found])),
        mean([edge.radius for edge in found]),
    )


def _one_edge(
    measured: Measured,
    feature: str,
    side: str,
    places: list[int],
    left: Floats,
    scatter: list[Part],
) -> Edge:
    try:
        found = fit_circle_edge(
            _vectors(measured, places),
            measured.spread.of(places),
            left,
            offsets=[measured.offsets[i] for i in places],
            side=1 if side == "left" else -1,
        )
    except Undetermined as error:
        raise _refused(feature, side, error) from None
    scatter.append((found.chi_square, found.degrees_of_freedom))
    return Edge(found.centre, found.normal, found.radius)


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
    for side, group in _by_label(measured, places):
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
