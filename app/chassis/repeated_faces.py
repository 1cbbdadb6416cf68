"""The faces as first measured, and what their returns add."""

import numpy as np

from app.chassis import head_face, surfaces
from app.chassis.datum import Side
from app.chassis.estimate import Axis
from app.chassis.head_face import Face
from app.chassis.preparation import Prepared
from app.chassis.rig_check import Repeat
from app.chassis.survey import Floats


class RepeatedFaces:
    """squareness: rad."""

    def __init__(
        self, prepared: Prepared, pivot: Axis, steering: Axis | None, squareness: float
    ) -> None:
        self.squareness = squareness
        self.outward = np.array(pivot.direction)
        points = prepared.points
        self.first = surfaces.sides(prepared, pivot, False)
        self.all = self.first
        if "pivot_face" in points.returned:
            self.all = surfaces.sides(prepared, pivot, True)
        places = points.first.get("head_face", [])
        self.firsts = len(places)
        self.returned = len(points.returned.get("head_face", [])) if places else 0
        self.head: Face | None = None
        if steering is not None and self.firsts + self.returned > 1 and places:
            self.head = surfaces.head_face(prepared, points.of("head_face"), steering)

    def scatter(self) -> list[tuple[float, int]]:
        """Chi-square and degrees of freedom of each face as first measured."""
        parts = [(side.chi_square, side.count - 1) for side in self.first.values()]
        if self.head is not None:
            parts.append(head_face.scatter(self.head.only(slice(self.firsts))))
        return parts

    def returns(self) -> list[Repeat]:
        """What each returned face adds: one observation a point."""
        parts = []
        for name, side in self.all.items():
            if side.count > self.first[name].count:
                parts.append(self._side(side, self.first[name]))
        if self.head is not None and self.returned:
            parts.append(self._head(self.head))
        return parts

    def _side(self, side: Side, first: Side) -> Repeat:
        share = 1.0 - first.weight / side.weight
        seen = np.outer(self.outward, self.outward) * (side.weight * share * (1.0 - share))
        added = side.count - first.count
        return Repeat(side.chi_square - first.chi_square, added, lambda: seen)

    def _head(self, face: Face) -> Repeat:
        whole = head_face.plane(face, self.squareness)
        first = head_face.plane(face.only(slice(self.firsts)), self.squareness)
        pattern = np.zeros(len(face.height))
        pattern[self.firsts :] = 1.0
        left = pattern - face.design @ (whole.gain @ pattern)
        axis = face.frame[:, 2]
        seen: Floats = np.outer(axis, axis) * float(pattern @ (left / face.variance))
        return Repeat(whole.chi_square - first.chi_square, self.returned, lambda: seen)
