"""The checks of a survey against itself: scatter against claims, returns against firsts."""

from dataclasses import dataclass

from app.chassis.bore_check import Estimated
from app.chassis.datum_check import datum_bent
from app.chassis.estimate import Axis, Selection, estimate, found_axes
from app.chassis.noise_check import Noise, noise_check
from app.chassis.preparation import Prepared
from app.chassis.repeated_faces import RepeatedFaces
from app.chassis.repeated_rows import RepeatedRows
from app.chassis.result import Caveat, RigCheck
from app.chassis.rig_check import joined, rig_check
from app.chassis.stacking import Stack, stack
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
    warnings: list[Caveat]


def check(estimated: Estimated) -> SetUp:
    """Test the noise, then the returns; estimate again where either asks for it."""
    prepared, rows, fitted = estimated.prepared, estimated.stack, estimated.fitted
    pivot, steering = found_axes(prepared, fitted)
    faces = RepeatedFaces(prepared, pivot, steering)
    repeated = None
    if rows.first.all():
        left = fitted.residuals[: rows.observations.axis_rows]
        freedom = rows.observations.axis_rows - rows.observations.axis_unknowns
        pivot_rows = 3 * rows.observations.blocks[0].last
    else:
        first = Selection(rows, rows.first)
        left, freedom = first.residuals(fitted), first.degrees_of_freedom
        pivot_rows = first.pivot_rows
        repeated = RepeatedRows(prepared, rows, fitted, left, pivot_rows)
    of_pivot = float(left[:pivot_rows] @ left[:pivot_rows])
    rest = [(float(left @ left) - of_pivot, freedom - pivot_rows * 2 // 3 + 4), *faces.scatter()]
    noise = noise_check([(of_pivot, pivot_rows * 2 // 3 - 4), *rest])
    bent = datum_bent(prepared, pivot, of_pivot, rest)
    again = [*(repeated.datum() if repeated else ()), *faces.returns()]
    rig = rig_check(repeated.steering() if repeated else None, joined(again), noise)
    moved = rig.verdict == "moved"
    if moved or noise.birge_ratio > 1.0:
        prepared = prepared.without_returns() if moved else prepared
        prepared = prepared.grown(noise.birge_ratio)
        rows = stack(prepared)
        fitted = estimate(rows)
        pivot, steering = found_axes(prepared, fitted)
    return SetUp(noise, rig, prepared, rows, fitted, pivot, steering, bent)
