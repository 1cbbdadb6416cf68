"""The estimate of both axes from all their points, and what refuses it."""

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from app.chassis import axes, refusals
from app.chassis.frames import Vector, along, columns_of, unit
from app.chassis.preparation import Prepared
from app.chassis.rotation import direction_slopes
from app.chassis.stacking import PIVOT_COLUMN, STEERING_COLUMN, Stack
from app.chassis.survey import Floats
from app.errors import Refusal
from app.metrology import estimation
from app.metrology.estimation import Estimate

CHI_SQUARE_SETTLED = 3e-2
"""Leaves chi-square within the square of it, a thousandth, and really much nearer."""
LEVER_MM = 100.0
EVEN = 100.0
"""So many times better conditioned than is needed: rounding does not matter there."""


class Axis(NamedTuple):
    """direction: unit vector; point: mm about the pivot; slopes: (6, 4) of both by the unknowns."""

    direction: Vector
    point: Vector
    slopes: Floats


def estimate(stack: Stack) -> Estimate:
    """Both axes from all rows of the stack. Raises Refusal `axis_not_determined`."""
    observations = stack.observations
    if observations.axis_rows < observations.axis_unknowns:
        raise refusals.axis_not_determined(
            _feature(stack),
            "counts",
            observations=observations.axis_rows,
            unknowns=observations.axis_unknowns,
        )
    model = axes.Model(observations)
    try:
        return estimation.least_squares(
            model.residuals,
            model.jacobian,
            stack.start,
            rounding=axes.rounding_floor(observations),
        )
    except (estimation.RankDeficient, estimation.NotConverged) as error:
        raise _refused(stack, error) from None


def _refused(stack: Stack, error: Exception) -> Refusal:
    if isinstance(error, estimation.RankDeficient):
        return refusals.axis_not_determined(
            _feature(stack), "condition", reciprocal_condition=error.reciprocal_condition
        )
    return refusals.axis_not_determined(_feature(stack), "no_solution")


def _feature(stack: Stack) -> str:
    return "steer_target" if stack.bodies else "head_bore"


class Selection:
    """Some points that tell the axes, and the unknowns that they still have.

    rows: (n,); the spacings go with them where any target does, the faces never. kept, columns:
    marks of the rows and unknowns of the axes.
    """

    def __init__(self, stack: Stack, rows: NDArray[np.bool_]) -> None:
        self.stack = stack
        observations = stack.observations
        self.model = axes.Model(observations.of_axes())
        kept = rows.repeat(3)
        if observations.spacings:
            turning = np.count_nonzero(rows[stack.rows("steer_target")]) > 0
            kept = np.concatenate((kept, np.full(len(observations.spacings), turning)))
        self.kept = kept
        used = np.zeros(observations.axis_unknowns + 1, dtype=bool)
        used[observations.index.compress(rows, axis=1)] = True
        points = [int(np.count_nonzero(rows[b.first : b.last])) for b in observations.blocks]
        for block, count in zip(observations.blocks, points, strict=True):
            used[block.column + 1 : block.column + 5] = count > 0
        self.columns = used[1:]
        self.pivot_rows = 3 * points[0]

    @property
    def degrees_of_freedom(self) -> int:
        return int(np.count_nonzero(self.kept)) - int(np.count_nonzero(self.columns))

    def chi_square(self, fitted: Estimate) -> float:
        """Of the estimate from these rows alone."""
        left = self.residuals(fitted)
        return float(left.dot(left))

    def residuals(self, fitted: Estimate) -> Floats:
        """(rows,) residuals of the estimate from these rows alone, as close as chi-square needs.

        Starts from the estimate of all rows. Raises Refusal `axis_not_determined` where these
        rows alone have no solution.
        """
        parameters, columns, kept = fitted.parameters, self.columns, self.kept
        own = len(columns)

        def spread(chosen: Floats) -> Floats:
            everything = parameters.copy()
            everything[:own][columns] = chosen
            return everything

        def some(slopes: Floats) -> Floats:
            return slopes[: len(kept), :own].compress(kept, axis=0).compress(columns, axis=1)

        try:
            return estimation.minimise(
                lambda chosen: self.model.residuals(spread(chosen)).compress(kept),
                lambda chosen: some(self.model.jacobian(spread(chosen))),
                parameters[:own].compress(columns),
                settled=CHI_SQUARE_SETTLED,
                near=(fitted.residuals[: len(kept)].compress(kept), some(fitted.slopes)),
            ).residuals
        except (estimation.RankDeficient, estimation.NotConverged) as error:
            raise _refused(self.stack, error) from None


def axis(parameters: Floats, column: int, frame: Floats, origin: Vector) -> Axis:
    """The axis whose four unknowns begin at `column`, in the coordinates of the survey."""
    a, b, x, y = parameters[column : column + 4].tolist()
    slopes = np.zeros((6, 4))
    slopes[:3, :2] = frame.dot(np.array(direction_slopes(a, b)).T)
    slopes[3:, 2:] = frame[:, :2]
    first, second, third = columns_of(frame)
    direction = unit(along(along(third, a, first), b, second))
    return Axis(direction, along(along(origin, x, first), y, second), slopes)


def found_axes(prepared: Prepared, fitted: Estimate) -> tuple[Axis, Axis | None]:
    """The pivot axis, and the steering axis where there is one."""
    pivot = axis(fitted.parameters, PIVOT_COLUMN, prepared.pivot_frame, (0.0, 0.0, 0.0))
    start = prepared.steering
    if start is None:
        return pivot, None
    return pivot, axis(fitted.parameters, STEERING_COLUMN, start.frame, start.origin)


def check_condition(stack: Stack, fitted: Estimate) -> None:
    """Raises Refusal `axis_not_determined` when the steering axis's information is too uneven.

    Tilts count as the millimetres they make at a lever of 100 mm.
    """
    unknowns = slice(STEERING_COLUMN, STEERING_COLUMN + 4)
    scaled = fitted.covariance[unknowns, unknowns] * _LEVERS
    if clearly_conditioned(scaled.tolist()):
        return
    size = np.linalg.eigvalsh(scaled).tolist()
    if not size[0] > refusals.CONDITION_NEEDED * size[-1]:
        raise refusals.axis_not_determined(
            _feature(stack), "condition", reciprocal_condition=size[0] / size[-1]
        )


def clearly_conditioned(matrix: list[list[float]]) -> bool:
    """Whether a positive (4, 4) matrix is clearly well conditioned, by its determinant.

    The largest eigenvalue is at most the trace t, and the smallest at least det / (t/3)^3, as the
    mean of the other three is at least their geometric mean. The determinant by pairs of rows
    (Laplace).
    """
    a, b, c, d = matrix
    trace = a[0] + b[1] + c[2] + d[3]
    upper = [a[i] * b[j] - a[j] * b[i] for i, j in _PAIRS]
    lower = [c[i] * d[j] - c[j] * d[i] for i, j in _PAIRS]
    determinant = (
        upper[0] * lower[5]
        - upper[1] * lower[4]
        + upper[2] * lower[3]
        + upper[3] * lower[2]
        - upper[4] * lower[1]
        + upper[5] * lower[0]
    )
    return 27.0 * determinant > EVEN * refusals.CONDITION_NEEDED * trace**4


def tilt_u(fitted: Estimate) -> float:
    """Standard uncertainty of the steering axis's direction where it is largest, rad."""
    unknowns = slice(STEERING_COLUMN, STEERING_COLUMN + 2)
    (xx, xy), (_, yy) = fitted.covariance[unknowns, unknowns].tolist()
    middle, half = (xx + yy) / 2.0, (xx - yy) / 2.0
    return math.sqrt(middle + math.hypot(half, xy))


def radii(stack: Stack, fitted: Estimate) -> dict[str, tuple[float, float]]:
    """Radius of each target round the steering axis, and its standard uncertainty, mm."""
    found = {}
    for name, column in stack.bodies.items():
        x, y = fitted.parameters[column : column + 2].tolist()
        unknowns = slice(column, column + 2)
        (xx, xy), (_, yy) = fitted.covariance[unknowns, unknowns].tolist()
        radius = math.hypot(x, y)
        variance = x * x * xx + 2.0 * x * y * xy + y * y * yy
        found[name] = (radius, math.sqrt(max(0.0, variance)) / max(radius, 1e-9))
    return found


_PAIRS = ((0, 1), (0, 2), (0, 3), (1, 2), (1, 3), (2, 3))
_LEVERS = np.outer((LEVER_MM, LEVER_MM, 1.0, 1.0), (LEVER_MM, LEVER_MM, 1.0, 1.0))
