"""Everything associated in one survey, with derivatives by all its inputs."""

from collections.abc import Mapping
from typing import NamedTuple

import numpy as np

from app.chassis import head
from app.chassis.associated import Associated, Line
from app.chassis.derivatives import Inputs, by_rows, common_rows, row_sizes
from app.chassis.further.arm_faces import axle_faces
from app.chassis.further.columns import Columns, further_points
from app.chassis.further.fitted import ready
from app.chassis.survey import Floats
from app.geometry.dual import Scalar, Vector


class Joined(NamedTuple):
    """head_slopes: (15, columns): the numbers that the head's gradients go by, by every input;
    sizes: (rows,), of the head's rows; in_common: (rows, 2), what moves them together."""

    associated: Associated
    columns: Columns
    head_slopes: Floats
    sizes: Floats
    in_common: Floats

    def spread_out(self, by_row: Floats) -> Floats:
        """(k, columns) from derivatives (k, rows) by the rows of the head's estimate."""
        return _spread_out(by_row, self.columns, self.sizes, self.in_common)


def joined(inputs: Inputs) -> Joined:
    """The head's axes and faces from their estimate, further features from their points.

    Raises Refusal where the points of a feature do not tell it.
    """
    prepared, further = inputs.prepared, inputs.further
    if further is None:
        points = further_points(prepared.points)
        measured = ready(prepared, inputs.stack, points, inputs.pivot, inputs.steering)
        further = measured.fitted(points)
    columns, beyond = further.columns, further.features
    sizes, in_common = row_sizes(inputs), common_rows(inputs)
    slopes = _spread_out(by_rows(inputs, np.eye(head.COLUMNS)), columns, sizes, in_common)
    pivot, steering, height = _head(inputs, slopes)
    associated = Associated(
        pivot,
        _faces(inputs, slopes),
        steering,
        None
        if height is None or steering is None
        else steering.point + steering.direction * height,
        beyond.points,
        beyond.lines,
        beyond.rear_axle,
        axle_faces(further.measured, further.middles, pivot.direction, beyond.rear_axle),
        beyond.axle_ends,
        beyond.legs,
        beyond.rims,
        prepared.points.survey.up,
    )
    return Joined(associated, columns, slopes, sizes, in_common)


def _spread_out(by_row: Floats, columns: Columns, sizes: Floats, in_common: Floats) -> Floats:
    slopes = np.zeros((len(by_row), columns.total))
    slopes[:, : columns.rows] = by_row * sizes
    together = by_row.dot(in_common)
    slopes[:, columns.offset] = together[:, 0]
    slopes[:, columns.growths["frame"]] = together[:, 1]
    return slopes


def _head(inputs: Inputs, slopes: Floats) -> tuple[Line, Line | None, Scalar | None]:
    pivot = Line(
        Vector(np.array(inputs.pivot.point), slopes[3:6]),
        Vector(np.array(inputs.pivot.direction), slopes[:3]),
    )
    if inputs.steering is None:
        return pivot, None, None
    steering = Line(
        Vector(np.array(inputs.steering.point), slopes[9:12]),
        Vector(np.array(inputs.steering.direction), slopes[6:9]),
    )
    face = inputs.stack.observations.head
    if face is None:
        return pivot, steering, None
    return pivot, steering, Scalar(inputs.fitted.parameters.item(face.column), slopes[head.HEIGHT])


def _faces(inputs: Inputs, slopes: Floats) -> Mapping[str, Scalar]:
    rows = {"left": head.LEFT, "right": head.RIGHT}
    return {
        side: Scalar(inputs.fitted.parameters.item(column), slopes[rows[side]])
        for side, column in inputs.stack.side_columns.items()
    }
