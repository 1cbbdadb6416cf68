"""The checks of a survey against itself: scatter against claims, returns against firsts."""

from dataclasses import dataclass

from app.chassis.estimate import Axis, Selection, estimate, found_axes
from app.chassis.noise_check import Noise, noise_check
from app.chassis.preparation import Prepared
from app.chassis.repeated_faces import RepeatedFaces
from app.chassis.repeated_rows import RepeatedRows
from app.chassis.result import RigCheck
from app.chassis.rig_check import joined, rig_check
from app.chassis.stacking import Stack
from app.metrology.estimation import Estimate


@dataclass(frozen=True, slots=True)
class SetUp:
    """The checks, and the estimate that stands: with the returns unless the set-up moved."""

    noise: Noise
    rig: RigCheck
    prepared: Prepared
    stack: Stack
    fitted: Estimate
    pivot: Axis
    steering: Axis | None


def check(prepared: Prepared, stack: Stack, fitted: Estimate, squareness: float) -> SetUp:
    """Test the noise, then the returns. fitted: of all rows; squareness: rad."""
    pivot, steering = found_axes(prepared, fitted)
    faces = RepeatedFaces(prepared, pivot, steering, squareness)
    if stack.first.all():
        chi_square, freedom = fitted.chi_square, len(fitted.residuals) - len(fitted.parameters)
        noise = noise_check([(chi_square, freedom), *faces.scatter()])
        rows = None
    else:
        first = Selection(stack, stack.first)
        left = first.residuals(fitted)
        noise = noise_check([(float(left @ left), first.degrees_of_freedom), *faces.scatter()])
        rows = RepeatedRows(prepared, stack, fitted, left, first.pivot_rows)
    again = [*(rows.datum() if rows else ()), *faces.returns()]
    rig = rig_check(rows.steering() if rows else None, joined(again), noise)
    if rig.verdict == "moved":
        prepared = prepared.without_returns()
        stack = prepared.stacked()
        fitted = estimate(stack)
        pivot, steering = found_axes(prepared, fitted)
    return SetUp(noise, rig, prepared, stack, fitted, pivot, steering)
