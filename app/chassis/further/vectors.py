"""The points beyond the head as vectors: as they are, or with their derivatives by every input."""

import math
from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

import numpy as np

from app.chassis.features import WITH_NORMAL, Points
from app.chassis.further.columns import Columns
from app.chassis.preparation import Prepared
from app.chassis.survey import Floats
from app.chassis.thermal import PART_OF
from app.geometry.dual import Scalar, Vector, mean


class Spread(NamedTuple):
    """How far the points of a survey scatter: variance (n,), mm²; covariance: of those that have
    one of their own, (3, 3)."""

    variance: Floats
    covariance: Mapping[int, Floats]

    def of(self, places: Sequence[int]) -> Floats:
        """(k,) variances, or (k, 3, 3) covariances where any of the points has one, mm²."""
        variance = self.variance.take(places)
        if self.covariance.keys().isdisjoint(places):
            return variance
        of_each = zip(places, variance.tolist(), strict=True)
        return np.array([self.covariance.get(i, v * np.eye(3)) for i, v in of_each])

    def along(self, places: Sequence[int], direction: Floats) -> Floats:
        """(k,): variances along a unit vector, mm²."""
        variance: Floats = self.variance.take(places)
        for row, i in enumerate(places):
            if i in self.covariance:
                variance[row] = direction @ self.covariance[i] @ direction
        return variance


class Measured(NamedTuple):
    """Further points with derivatives, over trials, or as they are.

    row: place of a point in the survey -> its row in xyz (k, 3) or (k, 3, trials), mm about the
    mean pivot point, and in slopes (k, 3, inputs); offsets: mm, distance of the centre outside the
    surface; leans: of each side's face of the arm, tangent of its angle against square.
    """

    points: Points
    row: Mapping[int, int]
    xyz: Floats
    slopes: Floats | None
    spread: Spread
    offsets: Mapping[int, Scalar]
    leans: Mapping[str, Scalar]

    @property
    def over_trials(self) -> bool:
        """Whether each point is one over many trials."""
        return self.xyz.ndim == 3

    def vector(self, place: int) -> Vector:
        """One point."""
        row = self.row[place]
        return Vector(self.xyz[row], None if self.slopes is None else self.slopes[row])

    def vectors(self, places: Sequence[int]) -> list[Vector]:
        """Some points."""
        return [self.vector(place) for place in places]

    def rows(self, places: Iterable[int]) -> list[int]:
        """Where they stand in the arrays."""
        row = self.row
        return [row[place] for place in places]

    def mean(self, places: Sequence[int]) -> Vector:
        """The plain mean of points."""
        if len(places) == 1:
            return self.vector(places[0])
        return mean(self.vectors(places))

    def weighted(self, places: Sequence[int], shares: Floats) -> Vector:
        """The sum of points times their shares (k,)."""
        rows = self.rows(places)
        value, slopes = _combined(shares, self.xyz[rows]), None
        if self.slopes is not None:
            slopes = _combined(shares, self.slopes[rows])
        return Vector(value, slopes)

    def shared_offset(self, places: Sequence[int]) -> Scalar | None:
        """The offset of some points of a surface, None where they differ."""
        offset = self.offsets[places[0]]
        return offset if all(self.offsets[i] is offset for i in places) else None


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
    prepared: Prepared,
    columns: Columns,
    further: Mapping[str, list[int]],
    spread: Spread,
    runout_u: float,
) -> Measured:
    """The points with derivatives by all columns; further: places of each feature."""
    places = list(columns.points)
    xyz = prepared.xyz[places]
    slopes = np.zeros((len(places), 3, columns.total))
    _by_own_error(slopes, prepared, columns, runout_u)
    _by_growth(slopes, xyz, prepared, columns, further)
    lean = math.tan(prepared.squareness)
    leans = {
        side: Scalar(0.0, lean * _one_at(column, columns.total))
        for side, column in columns.leans.items()
    }
    error = Scalar(0.0, _one_at(columns.offset, columns.total))
    row = {place: row for row, place in enumerate(places)}
    return Measured(
        prepared.points, row, xyz, slopes, spread, offsets(prepared, further, error), leans
    )


def offsets(
    prepared: Prepared, further: Mapping[str, list[int]], error: Scalar
) -> dict[int, Scalar]:
    """Of each point of a surface, with the error that all offsets share.

    Points of one offset get one and the same Scalar, so that a fit sees what they share.
    """
    found: dict[int, Scalar] = {}
    known = {0.0: Scalar(0.0)}
    for feature in WITH_NORMAL & further.keys():
        for place in further[feature]:
            size = prepared.offset.item(place)
            if size not in known:
                known[size] = error + size
            found[place] = known[size]
    return found


def _by_own_error(slopes: Floats, prepared: Prepared, columns: Columns, runout_u: float) -> None:
    """Fill in each point's whitened coordinates, and the run-out of its wheel."""
    own = prepared.uncertainty
    # Each coordinate's own column is one to the right of that of the coordinate before.
    along = slopes.reshape(-1)[columns.rows :: columns.total + 1]
    along[:] = np.repeat(np.sqrt(own.variance[list(columns.points)]), 3)
    for row, (place, begin) in enumerate(columns.points.items() if own.covariance else ()):
        if place in own.covariance:
            slopes[row, :, begin : begin + 3] = np.linalg.cholesky(own.covariance[place])
    for place, begin in columns.runouts.items():
        row = (columns.points[place] - columns.rows) // 3
        slopes[row, 0, begin] = slopes[row, 1, begin + 1] = slopes[row, 2, begin + 2] = runout_u


def _by_growth(
    slopes: Floats,
    xyz: Floats,
    prepared: Prepared,
    columns: Columns,
    further: Mapping[str, list[int]],
) -> None:
    slopes[:, :, columns.growths["frame"]] = xyz
    begin = 0
    for feature, places in further.items():
        rows, part = slice(begin, begin + len(places)), PART_OF.get(feature)
        begin = rows.stop
        if part is not None:
            # It grows about O, and O moves as the frame grows.
            slopes[rows, :, columns.growths["frame"]] = prepared.origin
            slopes[rows, :, columns.growths[part]] = xyz[rows] - prepared.origin


def _combined(shares: Floats, parts: Floats) -> Floats:
    """The sum of parts (k, …) times their shares (k,), faster than NumPy's own for many axes."""
    found: Floats = shares.dot(parts.reshape(len(parts), -1)).reshape(parts.shape[1:])
    return found


def _one_at(column: int, count: int) -> Floats:
    row = np.zeros(count)
    row[column] = 1.0
    return row
