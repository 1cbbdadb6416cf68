"""A survey over many trials: every input drawn, both axes solved, all features associated."""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from app.chassis.associated import Associated, Line
from app.chassis.derivatives import Inputs, estimated
from app.chassis.further import columns as columns_of
from app.chassis.further.columns import Columns, common_causes
from app.chassis.shape_checks import POINTS_FOR_SHAPE
from app.chassis.survey import Floats
from app.chassis.trials import faces, further
from app.chassis.trials.block import turning
from app.chassis.trials.bore import BorePoints, bore_points
from app.chassis.trials.faces import HeadFaces, SideFace
from app.chassis.trials.further import Beyond
from app.chassis.trials.pivot import PivotPoints, pivot_points
from app.chassis.trials.solving import Solver
from app.geometry.dual import Scalar, Vector

Marks = NDArray[np.bool_]

TOGETHER, SOLVED_TOGETHER = 5000, 2500
"""Trials drawn at once, and solved at once: their arrays fit the cache, and calls cost little
beside them."""


class Common(NamedTuple):
    """What moves all points together in k trials: errors of every offset, mm (k,); growth of each
    part, as a share (k,)."""

    offset: Floats
    growths: dict[str, Floats]


class Associations(NamedTuple):
    """found: (k,) the trials that have a solution; shapes: (k,) mm and rad, what the shape of the
    head's own parts shows, by the keys of the characteristics."""

    associated: Associated
    found: Marks
    shapes: dict[str, Floats]


@dataclass(frozen=True, slots=True)
class Trials:
    """What the trials of one survey are drawn and solved from.

    common: (1 + parts, causes), how much one standard uncertainty of a cause moves each; scattered:
    the inputs whose u is an estimate, with degrees_of_freedom.
    """

    inputs: Inputs
    columns: Columns
    pivot: PivotPoints
    steering: Solver | None
    sides: dict[str, SideFace]
    head: HeadFaces | None
    bore: BorePoints | None
    beyond: Beyond | None
    common: Floats
    scattered: NDArray[np.intp]
    degrees_of_freedom: float | None

    @property
    def deviates(self) -> int:
        """How many normal deviates a trial takes."""
        return self.columns.offset + len(self.common[0])

    def draw(self, generator: np.random.Generator, drawn: Floats) -> None:
        """Fill (deviates, trials): every input's error over its standard uncertainty.

        Where u was found from few degrees of freedom, the errors are Student's: all that rest on
        that one u are divided by the same root of chi-square over its degrees of freedom.
        """
        generator.standard_normal(out=drawn)
        if self.degrees_of_freedom is not None and len(self.scattered):
            freedom = self.degrees_of_freedom
            ratio = generator.chisquare(freedom, drawn.shape[1]) / freedom
            drawn[self.scattered] /= np.sqrt(ratio)

    def associate(self, drawn: Floats, *, finish: bool) -> Associations:
        """Solve the trials of the deviates (deviates, k); finish: also those that need more steps
        than nearly all others."""
        common = self.in_common(drawn)
        observations = self.inputs.stack.observations
        pivots = 3 * observations.blocks[0].last
        growth = common.growths["frame"]
        pivot = self.pivot.axis(drawn[:pivots], growth)
        found = np.ones(drawn.shape[1], dtype=bool)
        steering, head, shapes = None, None, {}
        if self.steering is not None:
            rows = drawn[pivots : observations.axis_rows]
            steering, found, across = _axis(self.steering, rows, growth, finish)
            if self.head is not None:
                face, square = drawn[observations.head_rows], self.head.squareness
                seen = faces.seen_face(
                    self.head, steering, across, face[:-2], common.offset, growth
                )
                head = faces.head_point(seen, steering, face[-2:] * square, square)
                if len(seen.weight) >= POINTS_FOR_SHAPE:
                    shapes["face_squareness"] = faces.squareness(seen)
        if self.bore is not None:
            shapes["bore_runout"] = self.bore.runout(drawn, growth)
        places = self._sides(pivot, drawn, common)
        whole = Associated(pivot, places, steering, head)
        if self.beyond is not None:
            whole = further.associated(self.beyond, drawn, common.offset, common.growths, whole)
        return Associations(whole, found, shapes)

    def in_common(self, drawn: Floats) -> Common:
        moved = self.common @ drawn[self.columns.offset :]
        return Common(moved[0], dict(zip(self.columns.growths, moved[1:], strict=True)))

    def _sides(self, pivot: Line, drawn: Floats, common: Common) -> dict[str, Scalar]:
        rows = drawn[self.inputs.stack.observations.side_rows]
        leans, begin = len(rows) - len(self.sides), 0
        found = {}
        for number, (side, face) in enumerate(self.sides.items()):
            own = rows[begin : begin + len(face.u)]
            begin += len(face.u)
            place = faces.side_place(
                face, pivot, own, rows[leans + number], common.offset, common.growths["frame"]
            )
            found[side] = Scalar(place)
        return found


def trials_of(inputs: Inputs, degrees_of_freedom: float | None) -> Trials:
    """degrees_of_freedom: of the points' uncertainty; None: taken as known."""
    prepared, stack, start = inputs.prepared, inputs.stack, inputs.prepared.steering
    axis = inputs.steering
    observations, parameters = stack.observations, inputs.fitted.parameters
    measured = columns_of.further_points(prepared.points)
    wobbling = columns_of.run_out(prepared.points, measured)
    columns = columns_of.columns(prepared, stack, measured, wobbling)
    _, common = common_causes(prepared)
    return Trials(
        inputs,
        columns,
        pivot_points(prepared, stack, np.array(inputs.pivot.direction)),
        None
        if start is None
        else Solver(
            turning(observations, 1, parameters, start.frame, np.array(start.origin)),
            SOLVED_TOGETHER,
        ),
        faces.side_faces(prepared, stack),
        faces.head_face(prepared, stack),
        bore_points(prepared, stack, None if axis is None else np.array(axis.direction)),
        further.beyond(inputs, columns, measured, wobbling) if measured else None,
        common,
        np.flatnonzero(estimated(inputs, list(columns.points), columns.offset - _points(columns))),
        degrees_of_freedom,
    )


def _points(columns: Columns) -> int:
    return columns.rows + 3 * len(columns.points)


def _axis(
    solver: Solver, deviates: Floats, growth: Floats, finish: bool
) -> tuple[Line, Marks, tuple[Vector, Vector]]:
    """The axis of each trial, whether it was found, and two directions square to it."""
    block, answer = solver.block, solver.axes(deviates, growth, finish=finish)
    a, b, x, y = answer.unknowns
    half_a, half_b = a / 2.0, b / 2.0
    share = 2.0 / (1.0 + half_a * half_a + half_b * half_b)
    one, other, cross = half_a * share, half_b * share, half_a * half_b * share
    direction = block.frame @ np.array((one, other, share - 1.0))
    first = block.frame @ np.array((1.0 - half_a * one, -cross, -one))
    second = block.frame @ np.array((-cross, 1.0 - half_b * other, -other))
    point = block.frame[:, :2] @ np.array((x, y))
    point += block.origin[:, np.newaxis]
    point *= 1.0 + growth
    return Line(Vector(point), Vector(direction)), answer.found, (Vector(first), Vector(second))
