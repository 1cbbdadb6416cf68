"""The faces as first measured, and what their returns add. Every face may lean out of square.

A pivot face measured again at another spot differs by its lean times the way between the spots;
without the lean in the model that difference would read as movement.
"""

import numpy as np

from app.chassis import head_face, surfaces
from app.chassis.estimate import Axis
from app.chassis.head_face import Face
from app.chassis.preparation import Prepared
from app.chassis.rig_check import Repeat
from app.chassis.survey import Floats


class RepeatedFaces:
    """The faces that have several points."""

    def __init__(self, prepared: Prepared, pivot: Axis, steering: Axis | None) -> None:
        self.squareness = prepared.squareness
        points = prepared.points
        self.measured = surfaces.pivot_faces(prepared, pivot)
        firsts = len(points.first.get("head_face", []))
        places = points.of("head_face")
        if steering is not None and firsts and len(places) > 1:
            self.measured.append((surfaces.head_face(prepared, places, steering), firsts))

    def scatter(self) -> list[tuple[float, int]]:
        """Chi-square and degrees of freedom of each face as first measured."""
        return [head_face.scatter(face.only(slice(firsts))) for face, firsts in self.measured]

    def returns(self) -> list[Repeat]:
        """What each returned face adds: one observation a point."""
        return [
            self._repeat(face, firsts)
            for face, firsts in self.measured
            if len(face.height) > firsts
        ]

    def _repeat(self, face: Face, firsts: int) -> Repeat:
        whole = head_face.plane(face, self.squareness)
        first = head_face.plane(face.only(slice(firsts)), self.squareness)
        pattern = np.zeros(len(face.height))
        pattern[firsts:] = 1.0
        left = pattern - face.design @ (whole.gain @ pattern)
        axis = face.frame[:, 2]
        seen: Floats = np.outer(axis, axis) * float(pattern @ (left / face.variance))
        added = len(face.height) - firsts
        return Repeat(whole.chi_square - first.chi_square, added, lambda: seen)
