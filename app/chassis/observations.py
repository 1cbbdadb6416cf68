"""What was observed, in the frames of the two axes, and where the unknowns of each row stand."""

from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from app.chassis.frames import Vector
from app.chassis.survey import Floats

Indices = NDArray[np.intp]

HIERARCHY = 1e-4
"""Weight of the rows of faces, see `surface_rows`."""


class Block(NamedTuple):
    """Points `first` to `last` (excluded) belong to the axis whose unknowns start at `column`."""

    first: int
    last: int
    column: int


class Spacing(NamedTuple):
    """A distance between two targets that is known: columns of the bodies, mm, u in mm."""

    one: int
    other: int
    length: float
    u: float


class Sides(NamedTuple):
    """Points of the faces beside the pivot.

    place: (m, 3), mm, in the frame of the pivot block; offset: (m,), mm to the left that the
    centre lies off the surface; weight: (m,), mm⁻¹; side: (m,), number of the point's
    side; column: (sides,) of each side's place along the axis, and lean: of its face's lean;
    mean: of each side, mm, its weighted mean point; of_tilt: weight of each lean, observed as 0.
    """

    place: Floats
    offset: Floats
    weight: Floats
    side: Indices
    column: Indices
    lean: Indices
    mean: list[Vector]
    of_tilt: float


class HeadFace(NamedTuple):
    """Points of the head's lower face.

    place: (m, 3), mm, in the frame of the steering block; offset: (m,), mm against the axis;
    weight: (m,), mm⁻¹; axis: column of the axis's unknowns; column: of the height, with the two
    tilts behind it; of_tilt: rad⁻¹, weight of each tilt, observed as 0.
    """

    place: Floats
    offset: Floats
    weight: Floats
    axis: int
    column: int
    of_tilt: float


# Not frozen: that alone would take longer than all that is counted here.
@dataclass(slots=True, eq=False)
class Observations:
    """All rows of the estimate: coordinates of points, spacings, sides, the head's face.

    position: (n, 3), mm; whitening: (n, 1), one over u, or (n, 3, 3); index: (4, n), for each
    point the places of b0, b1, b2 and psi in the parameters, counted from 1; 0 means: is zero.
    axis_unknowns: those of the axes and their points, which stand first.
    """

    position: Floats
    whitening: Floats
    index: Indices
    blocks: tuple[Block, ...]
    spacings: tuple[Spacing, ...]
    sides: Sides | None
    head: HeadFace | None
    axis_unknowns: int
    unknowns: int
    axis_rows: int = field(init=False)
    """How many numbers were observed that tell the axes; their rows stand first."""
    side_points: slice = field(init=False)
    side_rows: slice = field(init=False)
    """Points of the faces, and the lean of each side."""
    head_points: slice = field(init=False)
    head_rows: slice = field(init=False)
    """Points of the face, and two tilts."""
    rows: int = field(init=False)

    def __post_init__(self) -> None:
        axis_rows = self.position.size + len(self.spacings)
        sides = 0 if self.sides is None else len(self.sides.weight)
        leans = 0 if self.sides is None else len(self.sides.lean)
        points = 0 if self.head is None else len(self.head.weight)
        begin = axis_rows + sides + leans
        end = begin + points + (0 if self.head is None else 2)
        self.axis_rows, self.rows = axis_rows, end
        self.side_points, self.side_rows = (
            slice(axis_rows, axis_rows + sides),
            slice(axis_rows, begin),
        )
        self.head_points, self.head_rows = slice(begin, begin + points), slice(begin, end)

    def of_axes(self) -> "Observations":
        """The rows that tell the axes, without those of the faces."""
        return Observations(
            self.position,
            self.whitening,
            self.index,
            self.blocks,
            self.spacings,
            None,
            None,
            self.axis_unknowns,
            self.axis_unknowns,
        )
