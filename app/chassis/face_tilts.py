"""How far faces are out of square, told in directions of the machine.

A survey takes the lean of a face along the directions that its own points give. Another survey of
the same face, with the instrument elsewhere and touched at other spots, meets the same lean along
other ones. Told in directions that the chassis carries, one lean is the same cause in both.
"""

import math

import numpy as np

from app.chassis.derivatives import HEAD_TILTS, SQUARENESS
from app.chassis.features import SIDES
from app.chassis.frames import Vector, along, cross, dot, minus, unit, vector
from app.chassis.result import Shared
from app.chassis.set_up import SetUp
from app.geometry.lines import fit_line

SHORTEST_MM = 1e-6
"""A mean point nearer to its axis has no side of it, and its lean makes nothing."""


def machine_fixed(shared: Shared, set_up: SetUp) -> Shared:
    """The same covariances, with the leans of faces by directions of the machine."""
    found = _head_face(shared, set_up)
    ahead = _ahead(set_up)
    if ahead is None:
        return found
    for side in SIDES:
        spot = _pivot_spot(set_up, side)
        found = _split(
            found, f"{SQUARENESS}.pivot_face.{side}", spot, set_up.pivot.direction, ahead
        )
        axle = _axle_spot(set_up, side)
        if axle is not None:
            rearward, direction, spot = axle
            found = _split(found, f"{SQUARENESS}.axle_face.{side}", spot, direction, rearward)
    return found


def _head_face(shared: Shared, set_up: SetUp) -> Shared:
    """Its two tilts, from the directions of the estimate to left and ahead."""
    start, steering = set_up.prepared.steering, set_up.steering
    if start is None or steering is None or HEAD_TILTS[0] not in shared.causes:
        return shared
    up, left = steering.direction, set_up.pivot.direction
    sideways = unit(along(left, -dot(left, up), up))
    cosine, sine = (dot(sideways, vector(start.frame[:, i])) for i in (0, 1))
    places = [shared.causes.index(name) for name in HEAD_TILTS]
    turned = shared.derivatives.copy()
    size = math.hypot(cosine, sine)
    turn = np.array(((cosine, -sine), (sine, cosine))) / size
    turned[:, places] = shared.derivatives[:, places] @ turn
    return Shared(shared.causes, turned)


def _ahead(set_up: SetUp) -> Vector | None:
    """Square to the pivot axis: towards the steering axis, or as the survey's `up` has it."""
    up = set_up.prepared.points.survey.up if set_up.steering is None else set_up.steering.direction
    if up is None:
        return None
    ahead = cross(set_up.pivot.direction, up)
    return unit(ahead) if math.hypot(*ahead) > SHORTEST_MM else None


def _pivot_spot(set_up: SetUp, side: str) -> Vector | None:
    """Where a frame face was touched on average, from the pivot axis."""
    places = set_up.stack.side_places.get(side)
    if not places:
        return None
    weights = 1.0 / set_up.prepared.uncertainty.variance[places]
    mean = weights @ set_up.prepared.xyz[places] / weights.sum()
    return minus(vector(mean), set_up.pivot.point)


def _axle_spot(set_up: SetUp, side: str) -> tuple[Vector, Vector, Vector] | None:
    """From the pivot axis to the axle; the axle's direction to the left; where a face of the arm
    was touched on average, from the axle."""
    points, xyz = set_up.prepared.points, set_up.prepared.xyz
    axle = points.first.get("rear_axle", [])
    places = points.labelled(points.of("axle_face"), side)
    if len(axle) < 2 or not places:
        return None
    line = fit_line(xyz[axle])
    left = set_up.pivot.direction
    sign = math.copysign(1.0, float(line.direction @ left))
    through = vector(line.point)
    away = minus(through, set_up.pivot.point)
    away = along(away, -dot(away, left), left)
    spot = minus(vector(xyz[places].mean(axis=0)), through)
    return unit(away), vector(sign * line.direction), spot


def _split(shared: Shared, cause: str, spot: Vector | None, axis: Vector, ahead: Vector) -> Shared:
    """One lean towards a spot becomes two: ahead, and square to that and the axis."""
    if spot is None or cause not in shared.causes:
        return shared
    beside = along(spot, -dot(spot, axis), axis)
    size = math.hypot(*beside)
    if size < SHORTEST_MM:
        return shared
    first = dot(beside, ahead) / size
    second = dot(beside, unit(cross(ahead, axis))) / size
    length = math.hypot(first, second)
    place = shared.causes.index(cause)
    lean = shared.derivatives[:, place : place + 1]
    parts = lean * (np.array((first, second)) / length)
    return Shared(
        (*shared.causes[:place], f"{cause}.ahead", f"{cause}.upward", *shared.causes[place + 1 :]),
        np.hstack((shared.derivatives[:, :place], parts, shared.derivatives[:, place + 1 :])),
    )
