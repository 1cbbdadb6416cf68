"""Do the arcs of the targets and the bore tell the same steering axis?

A damaged seat, or a bar not seated in it, makes them differ. Then the result stands on the arcs,
and the axis that the bore tells is kept beside it.
"""

import math
from typing import NamedTuple

import numpy as np

from app.chassis import caveats, head, steering_axis
from app.chassis.estimate import Selection, found_axes
from app.chassis.estimated import Estimated, estimated
from app.chassis.frames import cross, dot, mean, minus
from app.chassis.noise_check import noise_check
from app.chassis.preparation import Prepared
from app.chassis.result import Caveat
from app.chassis.rig_check import tested
from app.errors import Refusal


class Agreement(NamedTuple):
    """chosen: what the result stands on; other: the estimate that contradicts it, if one does."""

    chosen: Estimated
    other: Estimated | None
    warnings: list[Caveat]


def check(prepared: Prepared) -> Agreement:
    """Estimate from arcs and bore together where they agree, else apart. Raises Refusal."""
    together = estimated(prepared)
    difference = _difference(together.alone or together)
    if difference is None:
        return Agreement(together, None, [])
    arcs = estimated(prepared.without("head_bore"))
    other = estimated(prepared.without("steer_target")) if prepared.bore_fixes else together
    return Agreement(arcs, other, [_disagree(arcs, other, *difference)])


def _difference(together: Estimated) -> tuple[float, float] | None:
    """The statistic and its limit where arcs and bore disagree at 0.1 %.

    The statistic is how much chi-square grows when one axis has to serve both. None as well where
    the arcs alone would not be accepted: they cannot contradict.
    """
    prepared = together.prepared
    bore = len(prepared.points.first.get("head_bore", []))
    if not bore or not _arcs_suffice(prepared):
        return None
    try:
        alone = [_alone(together, "steer_target")]
        # A line goes through any two points.
        if prepared.bore_fixes and bore > 2:
            alone.append(_alone(together, "head_bore"))
    except Refusal:
        return None
    one_axis, degrees = together.first.of_steering
    statistic = one_axis - sum([chi_square for chi_square, _ in alone])
    test = tested(statistic, degrees - sum([free for _, free in alone]), noise_check(alone))
    return (test.statistic, test.limit) if test.statistic > test.limit else None


def _alone(together: Estimated, feature: str) -> tuple[float, int]:
    """Chi-square and degrees of freedom of a feature's points first measured, by themselves."""
    rows = together.stack
    chosen = np.zeros_like(rows.first)
    chosen[rows.rows(feature)] = True
    selection = Selection(rows, chosen & rows.first)
    return selection.chi_square(together.fitted), selection.degrees_of_freedom


def _arcs_suffice(prepared: Prepared) -> bool:
    arcs, station = prepared.arcs, prepared.points.survey.station
    turned = {
        name: places
        for name, places in arcs.targets.items()
        if len({station[i] for i in places}) > 1
    }
    seen = {station[i] for places in turned.values() for i in places}
    if len(seen) < steering_axis.STATIONS_NEEDED:
        return False
    return not steering_axis.hardly_moved(
        arcs._replace(targets=turned), prepared.vectors, prepared.uncertainty.variance.tolist()
    )


def _disagree(arcs: Estimated, bore: Estimated, statistic: float, limit: float) -> Caveat:
    left, by_arc = found_axes(arcs.prepared, arcs.fitted)
    _, by_bore = found_axes(bore.prepared, bore.fitted)
    assert by_arc is not None
    assert by_bore is not None
    places = [bore.prepared.vectors[i] for i in bore.prepared.points.first["head_bore"]]
    arm = minus(mean(places), by_arc.point)
    beside = math.hypot(*cross(arm, by_arc.direction))
    cosine = min(1.0, abs(dot(by_arc.direction, by_bore.direction)))
    twists = [head.head_twist(left.direction, axis.direction) for axis in (by_arc, by_bore)]
    distances = [
        head.axis_distance(left.direction, left.point, axis.direction, axis.point)
        for axis in (by_arc, by_bore)
    ]
    return caveats.bore_and_arc_disagree(
        statistic=statistic,
        limit=limit,
        angle_deg=math.degrees(math.acos(cosine)),
        distance_mm=beside,
        twist_arc_deg=math.degrees(twists[0].value),
        twist_bore_deg=math.degrees(twists[1].value),
        axis_distance_arc_mm=distances[0].value,
        axis_distance_bore_mm=distances[1].value,
    )
