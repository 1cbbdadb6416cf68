"""The rigid fit of points to fixed places, with derivatives or over many trials."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from app.geometry.dual import Floats, Vector, constant, skew
from app.geometry.dual_sums import combined, stacked


@dataclass(frozen=True, slots=True)
class Superposition:
    """What brings the points nearest to the places: turned about their centre, then shifted.

    rotation: (3, 3), over trials (trials, 3, 3); turn: (3, n), slopes of a small further turn, rad,
    in the places' axes; None without derivatives.
    """

    rotation: Floats
    turn: Floats | None
    centre: Vector
    centre_of_places: Vector

    def direction(self, vector: Vector) -> Vector:
        """A vector in the axes of the places."""
        if self.rotation.ndim > 2:
            subscripts = "tij,jt->it" if vector.value.ndim > 1 else "tij,j->it"
            return Vector(np.einsum(subscripts, self.rotation, vector.value))
        turned = self.rotation.dot(vector.value)
        slopes = None if vector.slopes is None else self.rotation.dot(vector.slopes)
        if self.turn is not None:
            by_turn = skew(-turned).dot(self.turn)
            slopes = by_turn if slopes is None else slopes + by_turn
        return Vector(turned, slopes)

    def place(self, point: Vector) -> Vector:
        """A point in the axes of the places."""
        return self.direction(point - self.centre) + self.centre_of_places


def superposition(points: Sequence[Vector], places: Floats, weights: Floats) -> Superposition:
    """Least weighted sum of squared distances; points: m of them, places: (m, 3), weights: (m,).

    Never a mirror image. The rotation by singular values as in `geometry.rigid`; its derivatives
    from the condition that it leaves no torque, sum of w place × turned point = 0: a step of the
    points turns it by -(tr K - K)^-1 sum of w place × R step, where K = R sum of w point place'.
    """
    share = weights / weights.sum()
    middle = share.dot(places)
    lever = (places - middle) * share[:, np.newaxis]
    centre = combined(share, points)
    # The places' centre is taken out of the levers, so that the points' own centre drops out.
    if centre.value.ndim > 1:
        outer = [_outer(a, p.value) for a, p in zip(lever, points, strict=True)]
        rotation = _rotation(np.add.reduce(np.broadcast_arrays(*outer)))
        return Superposition(rotation, None, centre, constant(middle))
    values, slopes = stacked(points)
    spread = lever.T.dot(values)
    rotation = _rotation(spread)
    turn = None if slopes is None else _turn(slopes, rotation, spread, lever)
    return Superposition(rotation, turn, centre, constant(middle))


def _outer(lever: Floats, point: Floats) -> Floats:
    """(trials, 3, 3), or (1, 3, 3) for a point that is the same in all."""
    columns = point.T if point.ndim > 1 else point[np.newaxis]
    return np.asarray(lever[:, np.newaxis] * columns[:, np.newaxis, :])


def _rotation(spread: Floats) -> Floats:
    """(…, 3, 3); spread: sum of w place point'."""
    left, _, right = np.linalg.svd(spread)
    rotation: Floats = left @ right
    mirrored = np.linalg.det(rotation) < 0.0
    if mirrored.any():
        left[mirrored, :, 2] *= -1.0
        rotation = left @ right
    return rotation


def _turn(steps: Floats, rotation: Floats, spread: Floats, lever: Floats) -> Floats:
    """(3, n); steps: (m, 3, n), slopes of the points."""
    stiffness = rotation.dot(spread.T)
    inertia = stiffness.trace() * np.eye(3) - stiffness
    # R'(lever × R step) = R'lever × step: turned back are the m levers and not the many steps.
    torque = skew(lever.dot(rotation)).swapaxes(0, 1).reshape(3, -1)
    by_point = np.linalg.solve(inertia, -rotation).dot(torque)
    return np.asarray(by_point.dot(steps.reshape(by_point.shape[1], -1)))
