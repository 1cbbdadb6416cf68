"""The checks of a survey against itself: scatter against claims, returns against firsts."""

from typing import NamedTuple

from app.chassis import face_check, head_face, surfaces
from app.chassis.datum_check import datum_bent
from app.chassis.estimate import Axis, estimate, found_axes
from app.chassis.estimated import Estimated
from app.chassis.further import checks as further
from app.chassis.further.fitted import Fitted
from app.chassis.noise_check import Noise, noise_check
from app.chassis.preparation import Prepared
from app.chassis.repeated_faces import repeats
from app.chassis.repeated_rows import RepeatedRows
from app.chassis.result import Caveat, RigCheck
from app.chassis.rig_check import Repeat, joined, rig_check
from app.chassis.stacking import Stack, stack
from app.metrology.estimation import Estimate


class SetUp(NamedTuple):
    """The checks, and the estimate that stands: with the returns unless the set-up moved."""

    noise: Noise
    rig: RigCheck
    prepared: Prepared
    stack: Stack
    fitted: Estimate
    pivot: Axis
    steering: Axis | None
    warnings: list[Caveat]
    undecidable: frozenset[str]
    """Keys of which the survey's own points say that no verdict may rest on them."""
    doubted: frozenset[int]
    """Points that disagree with others of their feature, in a survey that is noisier."""
    further: Fitted | None
    """What lies beyond the head, fitted to the points that stand; None: not fitted yet."""


def check(made: Estimated) -> SetUp:
    """Test the noise, then the returns; estimate again where either asks for it."""
    prepared, rows, fitted = made.prepared, made.stack, made.fitted
    pivot, steering = found_axes(prepared, fitted)
    faces = surfaces.several_points(prepared, pivot, steering)
    scatter = [head_face.scatter(measured.first) for measured in faces]
    first = made.first
    axes = [first.of_pivot, first.of_steering]
    beyond = further.check(prepared, rows, pivot, steering)
    noise = noise_check([*axes, *scatter, *beyond.scatter])
    bent = datum_bent(
        prepared, pivot, first.of_pivot[0], [first.of_steering, *scatter, *beyond.scatter]
    )
    doubt = face_check.check(faces, scatter, axes, fitted)
    again = [] if beyond.repeat is None else [beyond.repeat]
    rig = _rig(made, [*repeats(faces, doubt.grown), *again], noise)
    moved, fitted_further = rig.verdict == "moved", beyond.fitted
    if moved or noise.birge_ratio > 1.0:
        prepared = prepared.without_returns() if moved else prepared
        prepared = prepared.grown(noise.birge_ratio)
        rows = stack(prepared)
        fitted = estimate(rows)
        pivot, steering = found_axes(prepared, fitted)
        fitted_further = None
    if moved and doubt.warnings:
        # The returns drew the axes away, and a face was held against them.
        faces = surfaces.several_points(made.prepared.without_returns(), pivot, steering)
        scatter = [head_face.scatter(measured.first) for measured in faces]
        doubt = face_check.check(faces, scatter, axes, fitted)
    apart = beyond.apart if noise.check.verdict == "noisier" else []
    warnings = bent + doubt.warnings + [caveat for caveat, _ in apart]
    return SetUp(
        noise,
        rig,
        prepared,
        rows,
        fitted,
        pivot,
        steering,
        warnings,
        doubt.undecidable,
        frozenset([i for _, places in apart for i in places]),
        fitted_further,
    )


def _rig(made: Estimated, faces: list[Repeat], noise: Noise) -> RigCheck:
    steering, datum = None, faces
    if made.stack.returned:
        repeated = RepeatedRows(made)
        steering, datum = repeated.steering(), [*repeated.datum(), *datum]
    rig = rig_check(steering, joined(datum), noise)
    return rig if made.alone is None else rig._replace(verdict="moved")
