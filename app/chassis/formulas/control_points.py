"""Control points against their nominals, distances between them, and the datum seen from them."""

import math
from collections.abc import Mapping
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from app.chassis import refusals
from app.chassis.formulas.machine_axes import Datum, MachineAxes
from app.chassis.survey import Floats, Reference
from app.geometry.dual import Scalar, Vector, atan2, dot, norm
from app.geometry.dual_rigid import superposition

APART_NEEDED_MM = 1.0
"""Two names for one point have no distance whose direction could be told."""
SPREAD_NEEDED_MM = 20.0
"""Least second singular value of the centred nominals: points less apart lie in a line."""


class ControlPoints(NamedTuple):
    """Measured points that have a nominal; arms: to them from the pivot axis's point, mm; nominals:
    (m, 3) mm in machine axes; weights: (m,)."""

    names: list[str]
    arms: list[Vector]
    nominals: Floats
    weights: Floats


def control_points(
    points: Mapping[str, Vector], datum: Datum, reference: Reference
) -> ControlPoints:
    """In the reference's order, so that the order of measuring changes nothing."""
    names = [name for name in reference.control_points if name in points]
    return ControlPoints(
        names,
        [points[name] - datum.point for name in names],
        np.array([reference.control_points[name] for name in names]).reshape(-1, 3),
        np.array([reference.control_weights.get(name, 1.0) for name in names]),
    )


def deviations(
    control: ControlPoints, datum: Datum, levelled: MachineAxes | None
) -> dict[str, Scalar]:
    """Measured less nominal, mm: of Y where the middle is known, of X and Z where levelled."""
    found = {}
    for name, arm, (x, y, z) in zip(
        control.names, control.arms, control.nominals.tolist(), strict=True
    ):
        if datum.across is not None:
            found[f"control.{name}.y"] = dot(datum.left, arm) - datum.across - y
        if levelled is not None:
            found[f"control.{name}.x"] = dot(levelled.forward, arm) - x
            found[f"control.{name}.z"] = dot(levelled.up, arm) - z
    return found


def distances(points: Mapping[str, Vector], reference: Reference) -> dict[str, Scalar]:
    """Distances that the reference lists, mm. Of a.b and b.a, which are one, the first by name."""
    found = {}
    for key in reference.characteristics:
        if not key.startswith("distance."):
            continue
        one, _, other = key.removeprefix("distance.").partition(".")
        if one == other or not (one in points and other in points):
            continue
        if one > other and f"distance.{other}.{one}" in reference.characteristics:
            continue
        apart = points[one] - points[other]
        _require_apart(apart, one, other)
        found[key] = norm(apart)
    return found


def _require_apart(apart: Vector, one: str, other: str) -> None:
    """Raises Refusal `coincident_points`, with derivatives only."""
    if apart.value.ndim == 1:
        length = math.sqrt(apart.value.dot(apart.value))
        if length < APART_NEEDED_MM:
            names = f"{one}, {other}"
            raise refusals.coincident_points("control", length, APART_NEEDED_MM, names)


def pivot_axis(control: ControlPoints, datum: Datum) -> dict[str, Scalar]:
    """The datum in the frame that fits the control points: a bent pivot shows here.

    Empty with fewer than three points, or points in a line. Raises Refusal
    `left_right_or_mirrored`, with derivatives only.
    """
    if not spread(control):
        return {}
    frame = superposition(control.arms, control.nominals, control.weights)
    left = frame.direction(datum.left)
    x, y, z = left[0], left[1], left[2]
    if isinstance(y.value, float) and y.value < -refusals.AGREEMENT_NEEDED:
        raise refusals.control_points_mirrored(y.value)
    found = {"datum_roll": atan2(z, y), "datum_yaw": atan2(-x, y)}
    if datum.to_origin is not None:
        found["datum_shift"] = frame.place(datum.to_origin)[1]
    return found


def spread(control: ControlPoints) -> bool:
    """Whether the points fix a frame: three or more, not in a line."""
    if len(control.names) < 3:
        return False
    centre = control.weights.dot(control.nominals) / control.weights.sum()
    return _second_exceeds(control.nominals - centre, SPREAD_NEEDED_MM)


def _second_exceeds(rows: Floats, least: float) -> bool:
    """Whether the second of the three singular values does; rows: (m, 3).

    That is, whether two roots of the characteristic polynomial of rows' rows - least² are positive:
    where all roots are real, Descartes's rule of signs counts them exactly.
    """
    (a, f, e), (_, b, d), (_, _, c) = rows.T.dot(rows).tolist()
    a, b, c = (square - least * least for square in (a, b, c))
    minors = b * c - d * d + a * c - e * e + a * b - f * f
    determinant = a * (b * c - d * d) - f * (f * c - d * e) + e * (f * d - b * e)
    signs = [one > 0.0 for one in (1.0, -(a + b + c), minors, -determinant) if one]
    return bool(sum([one != other for one, other in pairwise(signs)]) >= 2)
