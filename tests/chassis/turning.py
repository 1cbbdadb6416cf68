"""Markers of a turning body as a survey, and the axis the engine finds in them."""

from typing import NamedTuple

import numpy as np

from app.chassis.estimate import estimate, found_axes
from app.chassis.preparation import prepare
from app.chassis.stacking import STEERING_COLUMN, stack
from app.chassis.survey import Instrument
from tests.chassis.poses import Floats, Key, Pose, survey


class Turned(NamedTuple):
    """direction, point: (3,) of the axis; angles: (frames,), rad, from the first frame on,
    right-handed about the direction; covariance: (2, 2), rad², of the direction's tilt along
    `across` (3, 2); chi_square, degrees_of_freedom: of all markers."""

    direction: Floats
    point: Floats
    angles: Floats
    covariance: Floats
    across: Floats
    chi_square: float
    degrees_of_freedom: int


def turned(markers: Floats, u: float, beside: Floats) -> Turned:
    """markers: (frames, markers, 3), mm, of standard uncertainty u in each coordinate; beside:
    (3,), about which way the axis points, from which a pivot axis crosswise to it is made up."""
    left = np.cross(beside, [1.0, 0.0, 0.0] if abs(beside[0]) < 0.7 else [0.0, 0.0, 1.0])
    left /= np.linalg.norm(left)
    middle = markers.mean(axis=(0, 1)) - 600.0 * np.cross(left, beside)
    ends = [middle + 130.0 * left, middle - 130.0 * left]
    points: list[tuple[Key, Floats]] = [
        (("pivot", "left", None), ends[0]),
        (("pivot", "right", None), ends[1]),
    ]
    points += [
        (("steer_target", f"m{m}", f"s{f:02d}"), place)
        for f, frame in enumerate(markers)
        for m, place in enumerate(frame)
    ]
    instrument = Instrument(standard_uncertainty_mm=u, probe_radius_mm=0.0)
    prepared = prepare(survey(points, instrument=instrument), Pose().reference())
    rows = stack(prepared)
    fitted = estimate(rows)
    steering = found_axes(prepared, fitted)[1]
    assert steering is not None
    tilts = slice(STEERING_COLUMN, STEERING_COLUMN + 2)
    columns = [rows.turns[f"s{f:02d}"] for f in range(len(markers))]
    angles = np.array([0.0 if c < 0 else fitted.parameters[c] for c in columns])
    direction = np.array(steering.direction)
    sign = 1.0 if direction @ beside > 0.0 else -1.0
    count = markers.shape[1]
    freedom = markers.size - (4 + 3 * count + len(markers) - 1)
    return Turned(
        sign * direction,
        np.array(steering.point) + middle,
        sign * (angles - angles[0]),
        fitted.covariance[tilts, tilts],
        steering.slopes[:3, :2],
        float(np.sum(fitted.residuals**2)),
        freedom,
    )


def off(point: Floats, direction: Floats, place: Floats) -> float:
    """Distance of a place from a line, mm."""
    arm = place - point
    return float(np.linalg.norm(arm - (arm @ direction) * direction))


def apart_deg(one: Floats, other: Floats) -> float:
    return float(np.degrees(np.arctan2(np.linalg.norm(np.cross(one, other)), one @ other)))
