"""Control points against their nominals, distances between them, and the datum seen from them."""

from collections.abc import Mapping
from typing import NamedTuple

import numpy as np

from app.chassis import refusals
from app.chassis.formulas.machine_axes import Datum, MachineAxes
from app.chassis.survey import Floats, Reference
from app.geometry.dual import Scalar, Vector, atan2, norm
from app.geometry.dual_rigid import superposition
from app.geometry.dual_sums import products

APART_NEEDED_MM = 1.0
"""Two names for one point have no distance whose direction could be told."""
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


def deviations(
    control: ControlPoints, datum: Datum, axes: MachineAxes, *, levelled: bool
) -> dict[str, Scalar]:
    """Measured less nominal, mm: of Y where the middle is known, of X and Z where levelled."""
    directions = {"x": axes.forward, "z": axes.up} if levelled else {}
    if datum.origin is not None:
        directions["y"] = axes.left
    letters = sorted(directions)
    start = datum.point if datum.origin is None else datum.origin
    arms = [point - start for point in control.measured]
    if not (letters and arms):
        return {}
    nominals = dict(zip("xyz", control.nominals.T.tolist(), strict=True))
    along = zip(letters, products([directions[letter] for letter in letters], arms), strict=True)
    return {
        f"control.{name}.{letter}": number - nominal
        for letter, numbers in along
        for name, number, nominal in zip(
            control.names, numbers.each(), nominals[letter], strict=True
        )
    }


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
        apart = points[one] - points[other]
        _require_apart(apart, one, other)
        found[key] = norm(apart)
    return found


def _require_apart(apart: Vector, one: str, other: str) -> None:
    """Raises Refusal `coincident_points`, with derivatives only."""
    if apart.value.ndim == 1:
        length = float(np.sqrt(apart.value @ apart.value))
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
    frame = superposition(control.measured, control.nominals, control.weights)
    left = frame.direction(datum.left)
    x, y, z = left[0], left[1], left[2]
    if isinstance(y.value, float) and y.value < -refusals.AGREEMENT_NEEDED:
        raise refusals.control_points_mirrored(y.value)
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
