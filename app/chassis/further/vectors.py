"""The points beyond the head as vectors: as they are, or with their derivatives by every input."""

import math
from collections.abc import Iterable, Mapping
from typing import NamedTuple

import numpy as np

from app.chassis.features import Points
from app.chassis.further.columns import Columns
from app.chassis.preparation import Prepared
from app.chassis.survey import Floats
from app.chassis.thermal import PART_OF
from app.geometry.dual import Scalar, Vector


class Spread(NamedTuple):
    """How far the points of a survey scatter: variance (n,), mm²; covariance: of those that have
    one of their own, (3, 3)."""

    variance: Floats
    covariance: Mapping[int, Floats]

    def of(self, places: list[int]) -> Floats:
        """(k,) variances, or (k, 3, 3) covariances where any of the points has one, mm²."""
        variance = self.variance.take(places)
        if self.covariance.keys().isdisjoint(places):
            return variance
        of_each = zip(places, variance.tolist(), strict=True)
        return np.array([self.covariance.get(i, v * np.eye(3)) for i, v in of_each])

    def along(self, places: list[int], direction: Floats) -> Floats:
        """(k,): variances along a unit vector, mm²."""
        variance: Floats = self.variance.take(places)
        for row, i in enumerate(places):
            if i in self.covariance:
                variance[row] = direction @ self.covariance[i] @ direction
        return variance


class Measured(NamedTuple):
    """Further points with derivatives, over trials, or as they are.

    vectors: mm about the mean pivot point; offsets: mm, distance of the centre outside the
    surface; leans: of each side's face of the arm, tangent of its angle against square.
    """

    points: Points
    vectors: Mapping[int, Vector]
    spread: Spread
    offsets: Mapping[int, Scalar]
    leans: Mapping[str, Scalar]


def spread(prepared: Prepared, runouts: Iterable[int], runout_u: float) -> Spread:
    """The points' own as claimed, and the run-out of the wheel where it is not measured away.

    Not as grown by the noise check: what is grown alike weighs alike, and one wrong point must not
    make those of another feature look as if they stood in one place.
    """
    own = prepared.uncertainty.scaled(1.0 / prepared.grown_by)
    if not runouts:
        return Spread(own.variance, own.covariance)
    variance, covariance = own.variance.copy(), dict(own.covariance)
    for i in runouts:
        variance[i] += runout_u**2
        if i in covariance:
            covariance[i] = covariance[i] + runout_u**2 * np.eye(3)
    return Spread(variance, covariance)


def with_derivatives(
    prepared: Prepared, columns: Columns, spread: Spread, runout_u: float
) -> Measured:
    """The points with derivatives by all columns."""
    by_offset = _one_at(columns.offset, columns.total)
    offsets = {
        i: Scalar(offset, by_offset) if offset else Scalar(0.0)
        for i, offset in zip(
            columns.points, prepared.offset.take(list(columns.points)).tolist(), strict=True
        )
    }
    lean = math.tan(prepared.squareness)
    leans = {
        side: Scalar(0.0, lean * _one_at(column, columns.total))
        for side, column in columns.leans.items()
    }
    return Measured(prepared.points, _vectors(prepared, columns, runout_u), spread, offsets, leans)


def _vectors(prepared: Prepared, columns: Columns, runout_u: float) -> dict[int, Vector]:
    places = list(columns.points)
    slopes = np.zeros((len(places), 3, columns.total))
    features, own = prepared.points.survey.feature, prepared.uncertainty
    for row, i in enumerate(places):
        begin = columns.points[i]
        if i in own.covariance:
            slopes[row, :, begin : begin + 3] = np.linalg.cholesky(own.covariance[i])
        else:
            _fill(slopes[row], begin, math.sqrt(own.variance.item(i)))
        if i in columns.runouts:
            _fill(slopes[row], columns.runouts[i], runout_u)
        part = PART_OF.get(features[i], "frame")
        slopes[row, :, columns.growths["frame"]] = prepared.xyz[i]
        if part != "frame":
            # It grows about O, and O moves as the frame grows.
            slopes[row, :, columns.growths["frame"]] = prepared.origin
            slopes[row, :, columns.growths[part]] = prepared.xyz[i] - prepared.origin
    return {i: Vector(prepared.xyz[i], slopes[row]) for row, i in enumerate(places)}


def _fill(slopes: Floats, begin: int, u: float) -> None:
    slopes[0, begin] = slopes[1, begin + 1] = slopes[2, begin + 2] = u


def _one_at(column: int, count: int) -> Floats:
    row = np.zeros(count)
    row[column] = 1.0
    return row
