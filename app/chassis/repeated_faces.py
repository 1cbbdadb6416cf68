"""The faces as first measured, and what their returns add. Every face may lean out of square.

A pivot face measured again at another spot differs by its lean times the way between the spots;
without the lean in the model that difference would read as movement.
"""

from collections.abc import Sequence

import numpy as np

from app.chassis import head_face
from app.chassis.rig_check import Repeat
from app.chassis.surfaces import MeasuredFace
from app.chassis.survey import Floats


def repeats(faces: Sequence[MeasuredFace], grown: Sequence[float]) -> list[Repeat]:
    """What each returned face adds: one observation a point.

    grown: for each face, by how much its first points show larger variances than claimed: a
    return that lies no farther off than they do is no movement.
    """
    return [
        _repeat(face, factor)
        for face, factor in zip(faces, grown, strict=True)
        if len(face.face.height) > face.firsts
    ]


def _repeat(measured: MeasuredFace, grown: float) -> Repeat:
    face, firsts = measured.face, measured.firsts
    returned = np.zeros(len(face.height))
    returned[firsts:] = 1.0
    whole, seen = head_face.chi_squares(face, (face.height, returned), measured.squareness)
    (first,) = head_face.chi_squares(measured.first, (measured.first.height,), measured.squareness)
    axis = face.frame[:, 2]
    slip: Floats = np.multiply.outer(axis, axis) * (seen / grown)
    return Repeat(
        (whole - first) / grown,
        len(face.height) - firsts,
        lambda: slip,
        measured.feature == "pivot_face",
    )
