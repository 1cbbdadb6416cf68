"""How far the bore's points lie off one line, in every trial."""

from typing import NamedTuple

import numpy as np

from app.chassis.preparation import Prepared
from app.chassis.shape_checks import POINTS_FOR_SHAPE
from app.chassis.stacking import Stack
from app.chassis.survey import Floats
from app.geometry.dual import Vector
from app.geometry.line_fit import fit_line


class BorePoints(NamedTuple):
    """place: (m, 3), mm; size: (m, 3, 3), what makes a displacement of whitened deviates, mm;
    variance: (m,) mm²; up: (3,) the steering axis as measured; rows: of the deviates."""

    place: Floats
    size: Floats
    variance: Floats
    up: Floats
    rows: slice

    def runout(self, drawn: Floats, growth: Floats) -> Floats:
        """(k,): largest distance of a point from the straight line through all, mm.

        drawn: (deviates, k); growth: (k,) share by which all positions are too large.
        """
        errors = drawn[self.rows].reshape(len(self.place), 3, -1)
        points = [
            (size @ error + place[:, np.newaxis]) * (1.0 + growth)
            for size, error, place in zip(self.size, errors, self.place, strict=True)
        ]
        line = fit_line([Vector(point) for point in points], self.variance, self.up)
        point, direction = line.point.value, line.direction.value
        beside = []
        for arm in points:
            off = arm - point
            off -= (off * direction).sum(axis=0) * direction
            beside.append((off * off).sum(axis=0))
        return np.asarray(np.sqrt(np.max(beside, axis=0)))


def bore_points(prepared: Prepared, stack: Stack, up: Floats | None) -> BorePoints | None:
    """None where they say nothing of a line's straightness."""
    rows, start = stack.rows("head_bore"), prepared.steering
    if up is None or start is None or not prepared.bore_fixes:
        return None
    if rows.stop - rows.start < POINTS_FOR_SHAPE:
        return None
    places, whitening = stack.places[rows], stack.observations.whitening[rows]
    inverse = (
        np.eye(3) / whitening[:, :, np.newaxis] if whitening.ndim == 2 else np.linalg.inv(whitening)
    )
    return BorePoints(
        prepared.xyz.take(places, axis=0),
        start.frame @ inverse,
        prepared.uncertainty.variance.take(places),
        up,
        slice(3 * rows.start, 3 * rows.stop),
    )
