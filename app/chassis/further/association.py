"""From the points beyond the head to the ideal features that stand for them.

The same text serves points with derivatives, points over trials, and points as they are. How far
the points scatter about their features is kept beside them, for the check of the noise.
"""

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from app.chassis import refusals
from app.chassis.associated import Edge, Leg, Line
from app.chassis.features import SIDES
from app.chassis.further.fits import Fits, Group, Part, grouped, groups
from app.chassis.further.vectors import Measured
from app.geometry.dual import Vector, mean, unit

POINT_FEATURES = ("control", "pair", "level_line")
FITTED = (*POINT_FEATURES, "axis", "rear_axle", "fork_leg", "front_rim", "rear_rim")
"""In the order in which what does not tell its feature is refused."""


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


def associate(fits: Fits, chosen: Mapping[str, list[int]]) -> FurtherFeatures:
    """chosen: places of each feature. Raises Refusal."""
    measured = fits.measured
    by_feature = {f: groups(measured, f, chosen[f]) for f in FITTED if f in chosen}
    every = [group for found in by_feature.values() for group in found]
    fits.together(every)
    axle = by_feature.get("rear_axle")
    points = {
        feature: {str(group.label): fits.point(group) for group in by_feature[feature]}
        for feature in POINT_FEATURES
        if feature in by_feature
    }
    lines = {str(group.label): fits.line(group) for group in by_feature.get("axis", ())}
    rear_axle = None if axle is None else fits.line(axle[0])
    legs = {
        str(group.label): Leg(fits.line(group), measured.mean(group.places), len(group.places))
        for group in by_feature.get("fork_leg", ())
    }
    rims = {
        feature.removesuffix("_rim"): _edges(fits, feature, by_feature[feature])
        for feature in ("front_rim", "rear_rim")
        if feature in by_feature
    }
    fitted = [group.places for group in every if group.places in fits.scatter]
    return FurtherFeatures(
        points,
        lines,
        rear_axle,
        {} if axle is None else _ends(measured, axle[0]),
        legs,
        rims,
        [fits.scatter[places] for places in fitted],
        fitted,
    )


def _ends(measured: Measured, axle: Group) -> dict[str, Vector]:
    by_label = grouped(axle.places, measured.points.survey.label)
    return {side: measured.mean(by_label[side]) for side in by_label if side in SIDES}


def _edges(fits: Fits, feature: str, of_feature: Sequence[Group]) -> dict[str, Edge]:
    """By side. Raises Refusal `pair_swapped`.

    A wheel may stand turned, and its edges may have been touched in different places, or all in a
    short arc: they are exchanged when they lie so along the pivot axis as well as along the
    wheel's own axle.
    """
    found: dict[str, list[Edge]] = {}
    for group in of_feature:
        found.setdefault(str(group.label), []).append(fits.edge(group))
    edges = {side: _without_runout(both) for side, both in found.items()}
    if len(edges) == 2 and edges["left"].centre.value.ndim == 1:
        across = edges["left"].centre.value - edges["right"].centre.value
        apart = float(across @ edges["left"].normal.value)
        if apart <= 0.0 and _left_of_right(fits, of_feature) <= 0.0:
            raise refusals.pair_swapped(feature, None, apart)
    return edges


def _left_of_right(fits: Fits, of_feature: Sequence[Group]) -> float:
    """How far to the left of the right edge's points those of the left edge lie, mm."""
    left, right = (
        fits.measured.xyz[
            fits.measured.rows([i for g in of_feature if g.label == side for i in g.places])
        ].mean(axis=0)
        for side in SIDES
    )
    return float((left - right) @ fits.left)


def _without_runout(found: Sequence[Edge]) -> Edge:
    """Half a turn on, the run-out of the wheel shows the other way round: the mean is free of
    it."""
    if len(found) == 1:
        return found[0]
    return Edge(
        mean([edge.centre for edge in found]),
        unit(mean([edge.normal for edge in found])),
        mean([edge.radius for edge in found]),
    )
