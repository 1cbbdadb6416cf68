"""How the points beyond the head scatter, and what those measured again say of the set-up."""

import math
from collections.abc import Mapping
from typing import NamedTuple

from app.chassis import caveats
from app.chassis.estimate import Axis
from app.chassis.further.columns import further_points
from app.chassis.further.fitted import Fitted, Ready, ready
from app.chassis.further.returns import differences, repeat
from app.chassis.noise_check import TAIL, limit_of
from app.chassis.preparation import Prepared
from app.chassis.result import Caveat
from app.chassis.rig_check import Repeat
from app.chassis.stacking import Stack

Part = tuple[float, int]


class FurtherChecks(NamedTuple):
    """scatter: chi-square and degrees of freedom of each fit of the points measured first;
    repeat: of what was returned; fitted: to all points, None where there are none; apart: the
    features whose points scatter more than they claim, the worst first, with their points."""

    scatter: list[Part]
    repeat: Repeat | None
    fitted: Fitted | None
    apart: list[tuple[Caveat, tuple[int, ...]]]


NOTHING = FurtherChecks([], None, None, [])


def check(prepared: Prepared, stack: Stack, pivot: Axis, steering: Axis | None) -> FurtherChecks:
    """Fit the points, and hold the returned ones against the first. Raises Refusal."""
    further = further_points(prepared.points)
    if not further:
        return NOTHING
    measured = ready(prepared, stack, further, pivot, steering)
    measured_first = prepared.points.first
    returned = {
        feature: places[len(measured_first[feature]) :]
        for feature, places in further.items()
        if len(places) > len(measured_first[feature])
    }
    first = further | {feature: measured_first[feature] for feature in returned}
    alone = measured.fitted(first)
    scatter = [(float(part), degrees) for part, degrees in alone.features.scatter]
    apart = _apart(prepared, alone, scatter)
    if not returned:
        return FurtherChecks(scatter, None, alone, apart)
    again = _repeat(measured, alone, returned, math.tan(prepared.squareness))
    every = measured.with_returns(alone, further, returned.keys())
    return FurtherChecks(scatter, again, every, apart)


def _apart(
    prepared: Prepared, fitted: Fitted, scatter: list[Part]
) -> list[tuple[Caveat, tuple[int, ...]]]:
    survey, found = prepared.points.survey, []
    for places, (statistic, degrees) in zip(fitted.features.fitted, scatter, strict=True):
        if degrees and statistic > limit_of(TAIL, degrees):
            limit, i = limit_of(TAIL, degrees), places[0]
            caveat = caveats.points_disagree(survey.feature[i], survey.label[i], statistic, limit)
            found.append((statistic / limit, caveat, places))
    found.sort(key=lambda one: one[0], reverse=True)
    return [(caveat, places) for _, caveat, places in found]


def _repeat(
    measured: Ready, alone: Fitted, returned: Mapping[str, list[int]], lean: float
) -> Repeat | None:
    found = differences(
        alone.measured, alone.features, alone.middles, returned, measured.fits.left, lean
    )
    return repeat(list(found), measured.columns)
