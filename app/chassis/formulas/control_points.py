"""Control points against their nominals, distances between them, and the datum seen from them."""

from collections.abc import Mapping
from typing import NamedTuple

import numpy as np

from app.chassis.formulas.machine_axes import Datum, MachineAxes
from app.chassis.survey import Floats, Reference
from app.geometry.dual import Scalar, Vector, atan2, dot, norm
from app.geometry.dual_rigid import superposition

SPREAD_NEEDED_MM = 20.0
"""Least second singular value of the centred nominals: points less apart lie in a line."""


class ControlPoints(NamedTuple):
    """Measured points that have a nominal; nominals: (m, 3) mm in machine axes; weights: (m,)."""

    names: list[str]
    measured: list[Vector]
    nominals: Floats
    weights: Floats


def control_points(points: Mapping[str, Vector], reference: Reference) -> ControlPoints:
    """In the reference's order, so that the order of measuring changes nothing."""
    names = [name for name in reference.control_points if name in points]
    return ControlPoints(
        names,
        [points[name] for name in names],
        np.array([reference.control_points[name] for name in names]).reshape(-1, 3),
        np.array([reference.control_weights.get(name, 1.0) for name in names]),
    )


def deviations(control: ControlPoints, datum: Datum, axes: MachineAxes | None) -> dict[str, Scalar]:
    """Measured less nominal of each coordinate, mm; axes: levelled, or None: Y alone."""
    found = {}
    for name, point, nominal in zip(
        control.names, control.measured, control.nominals.tolist(), strict=True
    ):
        arm = point - datum.point
        if axes is not None:
            found[f"control.{name}.x"] = dot(axes.forward, arm) - nominal[0]
        if datum.middle is not None:
            found[f"control.{name}.y"] = dot(datum.left, point) - datum.middle - nominal[1]
        if axes is not None:
            found[f"control.{name}.z"] = dot(axes.up, arm) - nominal[2]
    return found


def distances(points: Mapping[str, Vector], reference: Reference) -> dict[str, Scalar]:
    """Distances that the reference lists, mm. Of a.b and b.a, which are one, the first by name."""
    found = {}
    for key in reference.characteristics:
        kind, _, names = key.partition(".")
        one, _, other = names.partition(".")
        if kind != "distance" or one == other or not (one in points and other in points):
            continue
        if one > other and f"distance.{other}.{one}" in reference.characteristics:
            continue
        found[key] = norm(points[one] - points[other])
    return found


def pivot_axis(control: ControlPoints, datum: Datum) -> dict[str, Scalar]:
    """The datum in the frame that fits the control points: a bent pivot shows here.

    Empty with fewer than three points, or points in a line.
    """
    if not spread(control):
        return {}
    frame = superposition(control.measured, control.nominals, control.weights)
    x, y, z = (frame.direction(datum.left)[i] for i in range(3))
    found = {"datum_roll": atan2(z, y), "datum_yaw": atan2(-x, y)}
    if datum.origin is not None:
        found["datum_shift"] = frame.place(datum.origin)[1]
    return found


def spread(control: ControlPoints) -> bool:
    """Whether the points fix a frame: three or more, not in a line."""
    if len(control.names) < 3:
        return False
    centre = control.weights @ control.nominals / control.weights.sum()
    sizes = np.linalg.svd(control.nominals - centre, compute_uv=False)
    return bool(sizes[1] > SPREAD_NEEDED_MM)
