"""Is the pivot axis straight? Only three points or more can tell."""

import math
from collections.abc import Sequence

from app.chassis import caveats
from app.chassis.estimate import Axis
from app.chassis.frames import Vector, along, dot, minus
from app.chassis.noise_check import noise_check
from app.chassis.preparation import Prepared
from app.chassis.result import Caveat
from app.chassis.rig_check import tested

POINTS_NEEDED = 3


def datum_bent(
    prepared: Prepared, pivot: Axis, statistic: float, rest: Sequence[tuple[float, int]]
) -> list[Caveat]:
    """Warn when three pivot points or more lie off one line by more than their uncertainty.

    statistic: chi-square of the pivot points first measured about their line; rest: of the other
    parts of the survey with their degrees of freedom, which tell whether all is noisier.
    """
    places = prepared.points.first["pivot"]
    if len(places) < POINTS_NEEDED:
        return []
    test = tested(statistic, 2 * len(places) - 4, noise_check(rest))
    if test.statistic <= test.limit:
        return []
    distance = max(_beside(prepared.vectors[i], pivot) for i in places)
    return [caveats.datum_bent(distance, test.statistic, test.limit)]


def _beside(place: Vector, axis: Axis) -> float:
    arm = minus(place, axis.point)
    return math.hypot(*along(arm, -dot(arm, axis.direction), axis.direction))
