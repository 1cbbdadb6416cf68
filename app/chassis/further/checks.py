"""How the points beyond the head scatter, and what those measured again say of the set-up."""

import math
from typing import NamedTuple

import numpy as np

from app.chassis.estimate import Axis
from app.chassis.features import is_return
from app.chassis.further import columns as columns_of
from app.chassis.further.association import FurtherFeatures, associate, axle_middles
from app.chassis.further.columns import Columns
from app.chassis.further.returns import differences, repeat
from app.chassis.further.vectors import Measured, as_they_are, spread, with_derivatives
from app.chassis.preparation import Prepared
from app.chassis.rig_check import Repeat
from app.chassis.stacking import Stack
from app.chassis.survey import Floats

Part = tuple[float, int]


class FurtherChecks(NamedTuple):
    """scatter: chi-square and degrees of freedom of each fit; repeat: of what was returned."""

    scatter: list[Part]
    repeat: Repeat | None


NOTHING = FurtherChecks([], None)


def check(prepared: Prepared, stack: Stack, pivot: Axis, steering: Axis | None) -> FurtherChecks:
    """From the points measured first alone; the returned ones against them. Raises Refusal."""
    further = columns_of.further_points(prepared.points)
    if not further:
        return NOTHING
    wobbling = columns_of.run_out(prepared.points, further)
    own = spread(prepared, wobbling, prepared.wheel_runout_u)
    station = prepared.points.survey.station
    first = {f: [i for i in p if not _again(station[i])] for f, p in further.items()}
    returned = {f: [i for i in p if _again(station[i])] for f, p in further.items()}
    left, upward = np.array(pivot.direction), upward_of(prepared, steering)
    if not any(returned.values()):
        measured = as_they_are(prepared, [i for places in first.values() for i in places], own)
        return FurtherChecks(_parts(associate(measured, first, left, upward)), None)
    columns = columns_of.columns(prepared, stack, further, wobbling)
    measured = with_derivatives(prepared, columns, own, prepared.wheel_runout_u)
    fitted = associate(measured, first, left, upward)
    return FurtherChecks(
        _parts(fitted), _repeat(measured, fitted, first, returned, left, columns, prepared)
    )


def upward_of(prepared: Prepared, steering: Axis | None) -> Floats | None:
    """Which way is up for the fork: the steering axis, else the survey's word."""
    if steering is not None:
        return np.array(steering.direction)
    up = prepared.points.survey.up
    return None if up is None else np.array(up)


def _again(station: str | None) -> bool:
    return station is not None and is_return(station)


def _parts(fitted: FurtherFeatures) -> list[Part]:
    return [(float(chi_square), degrees) for chi_square, degrees in fitted.scatter]


def _repeat(
    measured: Measured,
    fitted: FurtherFeatures,
    first: dict[str, list[int]],
    returned: dict[str, list[int]],
    left: Floats,
    columns: Columns,
    prepared: Prepared,
) -> Repeat | None:
    faces = axle_middles(measured, first.get("axle_face", []), left)
    lean = math.tan(prepared.squareness)
    return repeat(list(differences(measured, fitted, faces, returned, left, lean)), columns)
