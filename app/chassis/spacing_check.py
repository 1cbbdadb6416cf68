"""Do the stated distances between targets agree with where the targets were measured?

A wrong length bends the axis towards itself until the arcs no longer fit it: the misfit then reads
as a steering that hardly turned, or as noise. So the length is held against the distance that the
points themselves show, before anything is fitted.
"""

import math
from collections.abc import Sequence

from app.chassis import refusals
from app.chassis.features import Points
from app.chassis.frames import Vector
from app.chassis.steering_axis import Arcs

APART_U = 5.0
"""A smaller difference is for the noise check, which sees it in the residuals."""


def check(points: Points, arcs: Arcs, xyz: list[Vector], variance: list[float]) -> None:
    """xyz, variance: of all points, mm, mm². Raises Refusal `unknown_target`,
    `spacing_disagrees`."""
    survey = points.survey
    known = sorted({str(survey.label[i]) for i in points.of("steer_target")})
    for one, other, length, u in survey.target_spacing:
        for name in (one, other):
            if name not in known:
                raise refusals.unknown_target(name, tuple(known))
        met = _measured(points, arcs, (one, other), xyz, variance)
        if met is not None and abs(met[0] - length) > APART_U * math.hypot(met[1], u):
            raise refusals.spacing_disagrees(one, other, length, *met)


def _measured(
    points: Points,
    arcs: Arcs,
    names: tuple[str, str],
    xyz: list[Vector],
    variance: list[float],
) -> tuple[float, float] | None:
    """Mean distance of two targets over the stations that saw both, and its u, mm.

    u is what the points claim, or what the distances scatter where that is more.
    """
    found, claimed = [], 0.0
    for places in arcs.stations.values():
        one, other = (points.labelled(places, name) for name in names)
        if one and other:
            found.append(math.dist(xyz[one[0]], xyz[other[0]]))
            claimed += variance[one[0]] + variance[other[0]]
    if not found:
        return None
    count = len(found)
    return sum(found) / count, math.sqrt(max(claimed / count**2, _of_the_mean(found)))


def _of_the_mean(values: Sequence[float]) -> float:
    """Variance of the mean, from the scatter; 0 for a single value."""
    count = len(values)
    middle = sum(values) / count
    return sum((value - middle) ** 2 for value in values) / max(1, count * (count - 1))
