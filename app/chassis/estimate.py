"""The estimate of both axes from all their points, and what refuses it."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from app.chassis import axes, refusals
from app.chassis.frames import Vector, along
from app.chassis.stacking import PIVOT_COLUMN, STEERING_COLUMN, Stack
from app.chassis.steering_axis import Start
from app.chassis.survey import Floats
from app.errors import Refusal
from app.metrology import estimation
from app.metrology.estimation import Estimate

CHI_SQUARE_SETTLED = 1e-4
LEVER_MM = 100.0


@dataclass(frozen=True, slots=True)
class Axis:
    """direction: unit vector; point: mm about the pivot; slopes: (6, 4) of both by the unknowns."""

    direction: Vector
    point: Vector
    slopes: Floats


def estimate(stack: Stack) -> Estimate:
    """Both axes from all rows of the stack. Raises Refusal `axis_not_determined`."""
    observations = stack.observations
    if observations.count < observations.unknowns:
        raise refusals.axis_not_determined(
            _feature(stack),
            "counts",
            observations=observations.count,
            unknowns=observations.unknowns,
        )
    try:
        return estimation.least_squares(
            lambda parameters: axes.residuals(parameters, observations),
            lambda parameters: axes.jacobian(parameters, observations),
            stack.start,
            rounding=axes.rounding_floor(observations),
        )
    except (estimation.RankDeficient, estimation.NotConverged) as error:
        raise _refused(stack, error) from None


def _refused(stack: Stack, error: Exception) -> Refusal:
    if isinstance(error, estimation.RankDeficient):
        return refusals.axis_not_determined(
            _feature(stack), "condition", reciprocal_condition=error.reciprocal_condition**2
        )
    return refusals.axis_not_determined(_feature(stack), "no_solution")


def _feature(stack: Stack) -> str:
    return "steer_target" if stack.bodies else "head_bore"


def residuals_without(
    stack: Stack, fitted: Estimate, rows: NDArray[np.bool_]
) -> tuple[Floats, axes.Observations]:
    """Residuals (3 n' + spacings,) of the estimate from some of the rows only.

    rows: (n,). Starts from the estimate of all rows, and goes as far as chi-square needs.
    """
    fewer, columns = axes.restricted(stack.observations, rows)
    settled = max(CHI_SQUARE_SETTLED, axes.rounding_floor(fewer))
    _, left, _ = estimation.minimise(
        lambda parameters: axes.residuals(parameters, fewer),
        lambda parameters: axes.jacobian(parameters, fewer),
        fitted.parameters[columns],
        settled=settled,
    )
    return left, fewer


def axis(parameters: Floats, column: int, frame: Floats, origin: Vector) -> Axis:
    """The axis whose four unknowns begin at `column`, in the coordinates of the survey."""
    a, b, x, y = parameters[column : column + 4].tolist()
    slopes = np.zeros((6, 4))
    slopes[:3, :2] = frame @ axes.rotation_slopes(a, b)[:, :, 2].T
    slopes[3:, 2:] = frame[:, :2]
    first, second, third = frame.T.tolist()
    size = 1.0 / math.sqrt(1.0 + a * a + b * b)
    direction = tuple(
        (a * e1 + b * e2 + e3) * size for e1, e2, e3 in zip(first, second, third, strict=True)
    )
    point = along(along(origin, x, tuple(first)), y, tuple(second))
    return Axis(direction, point, slopes)


def pivot_axis(parameters: Floats, frame: Floats) -> Axis:
    return axis(parameters, PIVOT_COLUMN, frame, (0.0, 0.0, 0.0))


def steering_axis(parameters: Floats, start: Start) -> Axis:
    return axis(parameters, STEERING_COLUMN, start.frame, start.origin)


def check_condition(stack: Stack, fitted: Estimate) -> None:
    """Raises Refusal `axis_not_determined` when the steering axis's information is too uneven.

    Tilts count as the millimetres they make at a lever of 100 mm.
    """
    rows = fitted.inverse[STEERING_COLUMN : STEERING_COLUMN + 4]
    scaled = rows * np.array([[LEVER_MM], [LEVER_MM], [1.0], [1.0]])
    size = np.linalg.eigvalsh(scaled @ scaled.T).tolist()
    if not size[0] > refusals.CONDITION_NEEDED * size[-1]:
        raise refusals.axis_not_determined(
            _feature(stack), "condition", reciprocal_condition=size[0] / size[-1]
        )


def tilt_u(fitted: Estimate) -> float:
    """Standard uncertainty of the steering axis's direction where it is largest, rad."""
    rows = fitted.inverse[STEERING_COLUMN : STEERING_COLUMN + 2]
    (xx, xy), (_, yy) = (rows @ rows.T).tolist()
    middle, half = (xx + yy) / 2.0, (xx - yy) / 2.0
    return math.sqrt(middle + math.hypot(half, xy))


def radii(stack: Stack, fitted: Estimate) -> dict[str, tuple[float, float]]:
    """Radius of each target round the steering axis, and its standard uncertainty, mm."""
    found = {}
    for name, column in stack.bodies.items():
        b0, b1 = fitted.parameters[column : column + 2].tolist()
        radius = math.hypot(b0, b1)
        row = b0 * fitted.inverse[column] + b1 * fitted.inverse[column + 1]
        found[name] = (radius, math.sqrt(float(row @ row)) / max(radius, 1e-9))
    return found
