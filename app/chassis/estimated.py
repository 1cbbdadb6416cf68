"""An estimate together with what it was made from."""

from typing import NamedTuple

import numpy as np

from app.chassis import axes
from app.chassis.estimate import Selection, estimate, found_axes
from app.chassis.preparation import Prepared
from app.chassis.stacking import Stack, stack
from app.chassis.survey import Floats
from app.errors import Refusal
from app.metrology.estimation import Estimate, RankDeficient, covariance_of

FAR_OFF = 1e3


class First(NamedTuple):
    """Chi-square and degrees of freedom of the points measured first, estimated alone: of the
    pivot, where the axis and each point's place on it are unknown, and of the steering."""

    of_pivot: tuple[float, int]
    of_steering: tuple[float, int]

    @classmethod
    def of(cls, left: Floats, freedom: int, pivot_rows: int) -> "First":
        """left: all residuals, the pivot's first; freedom: of all."""
        of_pivot, rest = left[:pivot_rows], left[pivot_rows:]
        pivot_freedom = pivot_rows // 3 * 2 - 4
        return cls(
            (float(of_pivot.dot(of_pivot)), pivot_freedom),
            (float(rest.dot(rest)), freedom - pivot_freedom),
        )


class Estimated(NamedTuple):
    """What was estimated from what.

    first: from the points measured first alone. alone: the estimate without the returns, where
    none fits both. `fitted` is then only where the tangent at that estimate leads: it tells by how
    much the returns contradict, nothing else.
    """

    prepared: Prepared
    stack: Stack
    fitted: Estimate
    first: First
    alone: "Estimated | None" = None


def estimated(prepared: Prepared) -> Estimated:
    """Estimate from all points. Raises Refusal `axis_not_determined`."""
    rows = stack(prepared)
    try:
        fitted = estimate(rows)
    except Refusal:
        if not rows.returned:
            raise
        return _with_contradicting_returns(prepared, rows)
    faces = [i for places in (*rows.side_places.values(), rows.head_places) for i in places]
    if prepared.directions is None and not prepared.uncertainty.covariance.keys().isdisjoint(faces):
        # What such a point tells of a face depends on the direction of the axis, now known.
        pivot, steering = found_axes(prepared, fitted)
        up = pivot if steering is None else steering
        return estimated(prepared._replace(directions=(pivot.direction, up.direction)))
    return Estimated(prepared, rows, fitted, _first(prepared, rows, fitted))


def _first(prepared: Prepared, rows: Stack, fitted: Estimate) -> First:
    if not rows.returned:
        observations = rows.observations
        left = fitted.residuals[: observations.axis_rows]
        freedom = observations.axis_rows - observations.axis_unknowns
        return First.of(left, freedom, 3 * observations.blocks[0].last)
    if fitted.chi_square > FAR_OFF * len(fitted.residuals):
        # The returns drew the estimate so far away that the way back could lead elsewhere.
        return estimated(prepared.without_returns()).first
    selection = Selection(rows, rows.first)
    left = selection.residuals(fitted)
    return First.of(left, selection.degrees_of_freedom, selection.pivot_rows)


def _with_contradicting_returns(prepared: Prepared, rows: Stack) -> Estimated:
    """The set-up moved so far that no one estimate fits its returns as well."""
    alone = estimated(prepared.without_returns())
    known = Selection(rows, rows.first).columns.nonzero()[0]
    at = rows.start.copy()
    at[known] = alone.fitted.parameters[: len(known)]
    at[rows.observations.axis_unknowns :] = alone.fitted.parameters[len(known) :]
    residuals = axes.residuals(at, rows.observations)
    slopes = axes.jacobian(at, rows.observations)
    try:
        covariance = covariance_of(slopes)
    except RankDeficient:
        covariance = np.zeros((len(at), len(at)))
    left = residuals - slopes @ (covariance @ (slopes.T @ residuals))
    return Estimated(prepared, rows, Estimate(at, left, slopes, covariance), alone.first, alone)
