"""The pivot axis in every trial: the line through its points, which nothing else tells."""

from typing import NamedTuple

import numpy as np

from app.chassis.associated import Line
from app.chassis.preparation import Prepared
from app.chassis.stacking import Stack
from app.chassis.survey import Floats
from app.geometry.dual import Vector
from app.geometry.line_fit import fit_line


class PivotPoints(NamedTuple):
    """place: (n, 3), mm; size: (n, 3, 3), what makes a displacement of whitened deviates, mm;
    spread: (n,) variances or (n, 3, 3) covariances, mm²; left: (3,) the axis as measured."""

    place: Floats
    size: Floats
    spread: Floats
    left: Floats

    def axis(self, deviates: Floats, growth: Floats) -> Line:
        """deviates: (3 n, k); growth: (k,) share by which all positions are too large."""
        grown = 1.0 + growth
        errors = deviates.reshape(len(self.place), 3, -1)
        points = [
            Vector((size @ error + place[:, np.newaxis]) * grown)
            for size, error, place in zip(self.size, errors, self.place, strict=True)
        ]
        found = fit_line(points, self.spread, self.left)
        return Line(found.point, found.direction)


def pivot_points(prepared: Prepared, stack: Stack, left: Floats) -> PivotPoints:
    """The points of the pivot as they stand in the rows of the estimate."""
    rows = stack.rows("pivot")
    places = stack.places[rows]
    whitening, frame = stack.observations.whitening[rows], prepared.pivot_frame
    variance = prepared.uncertainty.variance.take(places)
    if whitening.ndim == 2:
        return PivotPoints(
            prepared.xyz.take(places, axis=0),
            np.sqrt(variance)[:, np.newaxis, np.newaxis] * frame,
            variance,
            left,
        )
    size = frame @ np.linalg.inv(whitening)
    return PivotPoints(
        prepared.xyz.take(places, axis=0), size, size @ size.transpose(0, 2, 1), left
    )
