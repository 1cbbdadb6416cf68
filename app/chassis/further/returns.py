"""Points beyond the head that were measured again, held against the first ones.

What is tested is by how much each return lies off where the first points put it, against the
covariance of that difference: the growth of chi-square when the returns join the fits. A point
returned gives three numbers, a point of a line two, a point of a face or of a wheel's edge one.
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

import numpy as np

from app.chassis.associated import Edge, Line
from app.chassis.frames import frame_along, vector
from app.chassis.further.arm_faces import FaceMiddle
from app.chassis.further.association import FurtherFeatures
from app.chassis.further.columns import Columns
from app.chassis.further.fits import OUTWARD
from app.chassis.further.vectors import Measured
from app.chassis.rig_check import Repeat
from app.chassis.survey import Floats
from app.geometry.dual import Scalar, Vector, dot


class Difference(NamedTuple):
    """One number by which a return lies off: value and slopes, by which way it points, and the
    variance that the derivatives do not know of."""

    off: Scalar
    direction: Floats
    beside: float = 0.0


def repeat(differences: Sequence[Difference], columns: Columns) -> Repeat | None:
    """All differences tested together; None where nothing was returned."""
    if not differences:
        return None
    of_points = slice(columns.rows, columns.offset)
    slopes = np.array([_slopes(one.off, columns)[of_points] for one in differences])
    covariance = slopes.dot(slopes.T)
    covariance.flat[:: len(slopes) + 1] += [one.beside for one in differences]
    off = np.array([one.off.value for one in differences])
    inverse = np.linalg.inv(covariance)

    def slip() -> Floats:
        directions = np.array([one.direction for one in differences])
        return np.asarray(directions.T.dot(inverse).dot(directions))

    return Repeat(float(off.dot(inverse).dot(off)), len(differences), slip, whenever=False)


def _slopes(scalar: Scalar, columns: Columns) -> Floats:
    return np.zeros(columns.total) if scalar.slopes is None else scalar.slopes


def differences(
    measured: Measured,
    first: FurtherFeatures,
    faces: Mapping[str, FaceMiddle],
    returned: Mapping[str, Sequence[int]],
    left: Floats,
    lean: float,
) -> Iterator[Difference]:
    """How far each returned point lies from what the first ones say, mm, and along which direction.

    first: from the points measured first alone; faces: of the arm, from their first points;
    returned: places of each feature; left: (3,), of the pivot axis; lean: tangent of the standard
    uncertainty of a face's tilt.
    """
    label = measured.points.survey.label
    for feature, places in returned.items():
        for i in places:
            place, name = measured.vector(i), label[i] or ""
            if feature in first.points:
                away = place - first.points[feature][name]
                yield from (Difference(away[k], np.eye(3)[k]) for k in range(3))
            elif feature in ("front_rim", "rear_rim"):
                edge = first.rims[feature.removesuffix("_rim")][name]
                yield _off_edge(place, edge, measured.offsets[i], name)
            elif feature == "axle_face":
                yield _off_face(place, faces[name], measured.offsets[i] * OUTWARD[name], left, lean)
            else:
                line = _line_of(first, feature, name)
                if line is not None:
                    yield from _off_line(place, line)


def _line_of(first: FurtherFeatures, feature: str, name: str) -> Line | None:
    if feature == "rear_axle":
        return first.rear_axle
    if feature == "axis":
        return first.lines[name]
    return first.legs[name].line if name in first.legs else None


def _off_line(place: Vector, line: Line) -> Iterator[Difference]:
    arm = place - line.point
    beside = arm - line.direction * dot(arm, line.direction)
    frame = frame_along(vector(line.direction.value))
    for k in (0, 1):
        yield Difference(dot(Vector(frame[:, k]), beside), frame[:, k])


def _off_face(
    place: Vector, face: FaceMiddle, offset: Scalar, left: Floats, lean: float
) -> Difference:
    apart = place - face.centre
    off = dot(Vector(left), apart) - (offset - face.offset)
    beside = apart.value - apart.value.dot(left) * left
    return Difference(off, left, float(beside.dot(beside)) * lean**2)


def _off_edge(place: Vector, edge: Edge, offset: Scalar, side: str) -> Difference:
    off = dot(edge.normal, place - edge.centre) - offset * OUTWARD[side]
    return Difference(off, edge.normal.value)
