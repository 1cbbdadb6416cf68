"""The faces of the arm beside the rear axle, from their points."""

from collections.abc import Mapping, Sequence
from typing import NamedTuple

import numpy as np

from app.chassis.associated import Line
from app.chassis.further.fits import OUTWARD, grouped
from app.chassis.further.vectors import Measured
from app.chassis.survey import Floats
from app.geometry.dual import Scalar, Vector, dot


class FaceMiddle(NamedTuple):
    """Weighted mean of the points of a face of the arm, and of their offsets, outward to the left
    positive, mm."""

    centre: Vector
    offset: Scalar

    def place(self, left: Vector) -> Scalar:
        """Along the pivot axis, mm."""
        return dot(left, self.centre) - self.offset


def axle_middles(measured: Measured, places: Sequence[int], left: Floats) -> dict[str, FaceMiddle]:
    """The faces of the arm by side; left: the pivot axis's direction (3,), which sets weights."""
    label = measured.points.survey.label
    return {
        side: _middle(measured, side, group, left) for side, group in grouped(places, label).items()
    }


def _middle(measured: Measured, side: str, places: Sequence[int], left: Floats) -> FaceMiddle:
    if len(places) == 1:
        place = places[0]
        return FaceMiddle(measured.vector(place), measured.offsets[place] * OUTWARD[side])
    weights = 1.0 / measured.spread.along(places, left)
    shares = weights / weights.sum()
    offset = measured.shared_offset(places)
    if offset is None:
        parts = [measured.offsets[i] * w for i, w in zip(places, shares.tolist(), strict=True)]
        offset = sum(parts[1:], start=parts[0])
    return FaceMiddle(measured.weighted(places, shares), offset * OUTWARD[side])


def axle_faces(
    measured: Measured, middles: Mapping[str, FaceMiddle], left: Vector, axle: Line | None
) -> dict[str, Scalar]:
    """Place of each face of the arm along the pivot axis, mm, by side.

    A face that leans out of square shifts its place by what the lean makes at the mean point's
    distance from the axle.
    """
    found = {}
    for side, middle in middles.items():
        place = middle.place(left)
        if axle is not None and side in measured.leans:
            # A lean with derivatives is itself zero, so that the lever needs none.
            place = place + measured.leans[side] * _beside(middle.centre.value, axle)
        found[side] = place
    return found


def _beside(place: Floats, axle: Line) -> Scalar:
    """Distance from a line, mm, without derivatives."""
    arm = place - axle.point.value
    direction = axle.direction.value
    off = arm - direction * (direction * arm).sum(axis=0)
    return Scalar(np.sqrt((off * off).sum(axis=0)))
