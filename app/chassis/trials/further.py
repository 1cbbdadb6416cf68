"""The features beyond the head over many trials: their points drawn, then fitted as ever."""

import dataclasses
import math
from collections.abc import Mapping
from typing import NamedTuple

import numpy as np

from app.chassis.associated import Associated
from app.chassis.derivatives import Inputs
from app.chassis.further.arm_faces import axle_faces, axle_middles
from app.chassis.further.association import associate
from app.chassis.further.columns import Columns
from app.chassis.further.fits import Fits
from app.chassis.further.fitted import upward_of
from app.chassis.further.vectors import Measured, Spread, offsets, spread
from app.chassis.survey import Floats
from app.chassis.thermal import PART_OF
from app.geometry.dual import Scalar


class Beyond(NamedTuple):
    """places: of each feature; spread: of the points; size: place -> (3, 3), what makes a
    displacement of whitened deviates, mm; lean: tangent of u of a face's angle."""

    inputs: Inputs
    columns: Columns
    places: Mapping[str, list[int]]
    spread: Spread
    size: Mapping[int, Floats]
    lean: float


def beyond(
    inputs: Inputs, columns: Columns, places: Mapping[str, list[int]], wobbling: list[int]
) -> Beyond:
    """places: of each feature; wobbling: points of wheels whose run-out was not measured away."""
    prepared = inputs.prepared
    own = prepared.uncertainty
    size: dict[int, Floats] = {
        i: np.asarray(np.linalg.cholesky(own.covariance[i]))
        if i in own.covariance
        else math.sqrt(own.variance.item(i)) * np.eye(3)
        for i in columns.points
    }
    return Beyond(
        inputs,
        columns,
        places,
        spread(prepared, wobbling, prepared.wheel_runout_u),
        size,
        math.tan(prepared.squareness),
    )


def associated(
    known: Beyond, drawn: Floats, offset: Floats, growths: Mapping[str, Floats], head: Associated
) -> Associated:
    """All features of each trial; head: pivot, faces, steering axis and H, known already.

    drawn: (deviates, k); offset: (k,) mm, error of every offset; growths: by part, shares (k,).
    """
    measured = _measured(known, drawn, offset, growths)
    inputs = known.inputs
    left = np.array(inputs.pivot.direction)
    upward = upward_of(inputs.prepared, inputs.steering)
    found = associate(Fits(measured, left, upward), known.places)
    middles = axle_middles(measured, known.places.get("axle_face", []), left)
    return dataclasses.replace(
        head,
        points=found.points,
        lines=found.lines,
        rear_axle=found.rear_axle,
        axle_faces=axle_faces(measured, middles, head.pivot.direction, found.rear_axle),
        axle_ends=found.axle_ends,
        legs=found.legs,
        rims=found.rims,
        up=inputs.prepared.points.survey.up,
    )


def _measured(
    known: Beyond, drawn: Floats, offset: Floats, growths: Mapping[str, Floats]
) -> Measured:
    prepared, columns = known.inputs.prepared, known.columns
    feature = prepared.points.survey.feature
    origin = prepared.origin[:, np.newaxis]
    xyz = np.empty((len(columns.points), 3, drawn.shape[1]))
    for place, (i, column) in zip(xyz, columns.points.items(), strict=True):
        np.matmul(known.size[i], drawn[column : column + 3], out=place)
        if i in columns.runouts:
            own = columns.runouts[i]
            place += prepared.wheel_runout_u * drawn[own : own + 3]
        place += prepared.xyz[i][:, np.newaxis]
        part = PART_OF.get(feature[i], "frame")
        if part == "frame":
            place *= 1.0 + growths["frame"]
        else:
            place -= origin
            place *= 1.0 + growths[part]
            place += origin * (1.0 + growths["frame"])
    row = {i: row for row, i in enumerate(columns.points)}
    surfaces = offsets(prepared, known.places, Scalar(offset))
    leans = {side: Scalar(known.lean * drawn[column]) for side, column in columns.leans.items()}
    return Measured(prepared.points, row, xyz, None, known.spread, surfaces, leans)
