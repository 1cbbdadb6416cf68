"""What a survey would tell if it had some more points, without asking how these would scatter.

The further points join the estimate; what was found of the noise, of movement and of arcs against
bore stays as it is. Points that were simulated scatter less than real ones: they must neither
lower the scatter that was found nor be tested.
"""

from dataclasses import replace
from typing import NamedTuple

import numpy as np

from app.chassis.candidate_places import NewPoint
from app.chassis.characteristics import Found, characteristics
from app.chassis.estimate import estimate, found_axes
from app.chassis.preparation import Prepared, prepare
from app.chassis.set_up import SetUp
from app.chassis.stacking import stack
from app.chassis.survey import Floats, Reference, Survey
from app.chassis.uncertainty import PointUncertainty


class Seen(NamedTuple):
    """What the checks of the survey so far came to."""

    survey: Survey
    reference: Reference
    set_up: SetUp
    without_bore: bool
    """Arcs and bore disagree: the result stands on the arcs."""


def with_points(seen: Seen, points: tuple[NewPoint, ...]) -> Found:
    """The characteristics and what contributes to them, had the points been measured as well.

    Raises Refusal where the survey with the points would be refused.
    """
    made = prepare(enlarged(seen.survey, points), seen.reference)
    made = made._replace(uncertainty=_uncertainty(seen.set_up.prepared, points))
    if seen.without_bore:
        made = made.without("head_bore")
    rows = stack(made)
    fitted = estimate(rows)
    pivot, steering = found_axes(made, fitted)
    checked = seen.set_up._replace(
        prepared=made, stack=rows, fitted=fitted, pivot=pivot, steering=steering, further=None
    )
    return characteristics(checked, seen.reference)


def enlarged(survey: Survey, points: tuple[NewPoint, ...]) -> Survey:
    """The survey with further points, each named and known like its pattern."""
    count, patterns = len(survey.feature), [point.pattern for point in points]
    labels = [survey.label[p.pattern] if p.label is None else p.label for p in points]
    again = {
        count + number: survey.cov[point.pattern]
        for number, point in enumerate(points)
        if point.pattern in survey.cov
    }
    return replace(
        survey,
        feature=(*survey.feature, *[survey.feature[i] for i in patterns]),
        label=(*survey.label, *labels),
        station=(*survey.station, *[point.station for point in points]),
        turn=(*survey.turn, *[None for _ in points]),
        xyz=np.vstack([survey.xyz, *[point.xyz for point in points]]),
        u=_with(survey.u, patterns),
        offset=_with(survey.offset, patterns),
        cov={**survey.cov, **again},
    )


def _uncertainty(known: Prepared, points: tuple[NewPoint, ...]) -> PointUncertainty:
    """That of the survey so far, as its own scatter made it, and of the patterns."""
    so_far, patterns = known.uncertainty, [point.pattern for point in points]
    count = len(so_far.variance)
    again = {
        count + number: so_far.covariance[place]
        for number, place in enumerate(patterns)
        if place in so_far.covariance
    }
    replaced = so_far.replaced
    return PointUncertainty(
        _with(so_far.variance, patterns),
        {**so_far.covariance, **again},
        None if replaced is None else np.append(replaced, replaced[patterns]),
        so_far.degrees_of_freedom,
    )


def _with(values: Floats, patterns: list[int]) -> Floats:
    return np.append(values, values[patterns])
