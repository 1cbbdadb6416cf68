"""Where the steering axis meets the lower face of the head, and how square that face is to it.

The axis is given: the face fixes H along it and never moves it. The plane is told by its height
h on the axis and its tilts about two directions square to it,

    height of a point along the axis = h + tilt1 q1 + tilt2 q2,

with each tilt observed as 0 with the standard uncertainty `squareness`, so that one definition
holds for one point as for many.
"""

import math
from typing import NamedTuple

import numpy as np

from app.chassis.survey import Floats

LEVER_NEEDED_MM = 2.0
SINGULAR = 1e-13
"""Share of the better told tilt below which the other one is rounding."""


class Plane(NamedTuple):
    """The plane's three numbers and their derivatives.

    value: (3,) height (mm) and tilts (rad); gain: (3, m) by each point's displacement along the
    plane's normal; by_axis: (3, 6) by the axis's unit vector and by its point; chi_square of the
    points about this plane plus that of the tilts where they were observed; left: (m,) mm, by how
    much each point lies above it.
    """

    value: Floats
    gain: Floats
    by_axis: Floats
    chi_square: float
    left: Floats


class Face(NamedTuple):
    """Points of the face as the axis sees them.

    arm: (m, 3) from the axis's point; design: (m, 3) ones, q1, q2; height: (m,) along the axis,
    offsets corrected; variance: (m,) mm² along the axis; frame: the third column is the axis.
    """

    arm: Floats
    design: Floats
    height: Floats
    variance: Floats
    frame: Floats

    def only(self, rows: slice) -> "Face":
        return Face(
            self.arm[rows],
            self.design[rows],
            self.height[rows],
            self.variance[rows],
            self.frame,
        )


def face(xyz: Floats, offset: Floats, variance: Floats, point: Floats, frame: Floats) -> Face:
    """xyz: (m, 3), offset: (m,) mm outward (against the axis), variance: (m,) mm² along the axis;
    point: (3,) of the axis, frame: (3, 3) whose third column is the axis, upward."""
    arm: Floats = xyz - point
    local = arm @ frame
    design = local[:, (0, 0, 1)]
    design[:, 0] = 1.0
    return Face(arm, design, local[:, 2] + offset, variance, frame)


def plane(face: Face, squareness: float | None) -> Plane:
    """Weighted least squares; squareness in radians, or None: from the points alone.

    Told about the points' weighted mean, where height and tilts do not mix: neither very small
    uncertainties nor very uneven ones then drown one in the other's rounding. Raises
    numpy.linalg.LinAlgError where the points alone leave a tilt free.
    """
    count, lateral, root = len(face.height), face.design[:, 1:], 1.0 / np.sqrt(face.variance)
    share = root * root
    share /= share.sum()
    centre, middle = share @ lateral, float(share @ face.height)
    lateral, height = lateral - centre, face.height - middle
    rows = lateral * root[:, np.newaxis]
    if squareness is not None:
        rows = np.concatenate((rows, np.eye(2) / squareness))
    basis, triangle = np.linalg.qr(rows)
    (one, mixed), (_, other) = triangle.tolist()
    if not min(abs(one), abs(other)) > SINGULAR * max(abs(one), abs(mixed), abs(other)):
        raise np.linalg.LinAlgError("the points leave a tilt free")
    gain = np.empty((3, count))
    by_tilt = gain[1:]
    by_tilt[1] = basis[:count, 1] * root / other
    by_tilt[0] = (basis[:count, 0] * root - mixed * by_tilt[1]) / one
    gain[0] = share - centre @ by_tilt
    tilts = by_tilt @ height
    first, second = tilts.tolist()
    tilted = face.frame[:, 0] * first + face.frame[:, 1] * second
    normal = face.frame[:, 2] - tilted
    along = face.arm @ face.frame[:, 2]
    by_axis = np.empty((3, 6))
    by_axis[:, :3] = gain @ (face.arm + along[:, np.newaxis] * tilted)
    by_axis[:, 3:] = -gain.sum(axis=1)[:, np.newaxis] * normal
    left = height - lateral @ tilts
    whitened = left * root
    observed = 0.0 if squareness is None else (first**2 + second**2) / squareness**2
    return Plane(
        np.array((middle - float(centre @ tilts), first, second)),
        gain,
        by_axis,
        float(whitened @ whitened) + observed,
        left,
    )


def own_plane(face: Face) -> Plane | None:
    """The plane from the points alone; None where they do not tell its tilts."""
    if not tells_tilt(face):
        return None
    try:
        return plane(face, None)
    except np.linalg.LinAlgError:
        return None


def scatter(face: Face) -> tuple[float, int]:
    """Chi-square of the points alone about their own plane, and its degrees of freedom.

    Where the points lie so close together across the axis that a tilt could not be told from
    their scatter, the plane is not tilted that way.
    """
    count = len(face.height)
    if count < 2:
        return 0.0, 0
    lateral = face.design[:, 1:] - face.design[:, 1:].mean(axis=0)
    _, size, direction = np.linalg.svd(lateral, full_matrices=False)
    levers = direction[size > LEVER_NEEDED_MM * math.sqrt(count)]
    design = np.column_stack((np.ones(count), lateral @ levers.T))
    if count <= design.shape[1]:
        return 0.0, 0
    root = 1.0 / np.sqrt(face.variance)
    basis = np.linalg.qr(design * root[:, np.newaxis])[0]
    height = face.height * root
    left = height - basis @ (basis.T @ height)
    return float(left @ left), count - design.shape[1]


def tells_tilt(face: Face) -> bool:
    """Whether three points or more span an area wide enough for a plane of their own."""
    if len(face.height) < 3:
        return False
    lateral = face.design[:, 1:] - face.design[:, 1:].mean(axis=0)
    size = np.linalg.svd(lateral, compute_uv=False)
    return bool(size[1] > LEVER_NEEDED_MM * math.sqrt(len(face.height)))
