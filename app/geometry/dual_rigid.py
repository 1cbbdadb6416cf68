"""The rigid fit of points to fixed places, with derivatives or over many trials."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from app.geometry.dual import Floats, Vector, constant, cross, skew
from app.geometry.dual_sums import combined


@dataclass(frozen=True, slots=True)
class Superposition:
    """What brings the points nearest to the places: turned about their centre, then shifted.

    rotation: (3, 3), over trials (trials, 3, 3); turn: small further turn, rad, in the places'
    axes, whose value is zero and whose slopes are those of the fit; None over trials.
    """

    rotation: Floats
    turn: Vector | None
    centre: Vector
    centre_of_places: Vector

    def direction(self, vector: Vector) -> Vector:
        """A vector in the axes of the places."""
        if self.rotation.ndim > 2:
            subscripts = "tij,jt->it" if vector.value.ndim > 1 else "tij,j->it"
            return Vector(np.einsum(subscripts, self.rotation, vector.value))
        slopes = None if vector.slopes is None else self.rotation @ vector.slopes
        turned = Vector(self.rotation @ vector.value, slopes)
        return turned if self.turn is None else turned + cross(self.turn, turned)

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
    middle = share @ places
    lever = (places - middle) * share[:, np.newaxis]
    centre = combined(share, points)
    # The places' centre is taken out of the levers, so that the points' own centre drops out.
    if centre.value.ndim > 1:
        outer = [_outer(a, p.value) for a, p in zip(lever, points, strict=True)]
        rotation = _rotation(np.add.reduce(np.broadcast_arrays(*outer)))
        return Superposition(rotation, None, centre, constant(middle))
    spread = lever.T @ np.array([point.value for point in points])
    rotation = _rotation(spread)
    turn = None if centre.slopes is None else _turn(points, rotation, spread, lever)
    return Superposition(rotation, turn, centre, constant(middle))


def _outer(lever: Floats, point: Floats) -> Floats:
    """(trials, 3, 3), or (1, 3, 3) for a point that is the same in all."""
    columns = point.T if point.ndim > 1 else point[np.newaxis]
    return np.asarray(lever[:, np.newaxis] * columns[:, np.newaxis, :])


def _rotation(spread: Floats) -> Floats:
    """(…, 3, 3); spread: sum of w place point'."""
    left, _, right = np.linalg.svd(spread)
    left = left.copy()
    left[..., :, 2] *= np.sign(np.linalg.det(left) * np.linalg.det(right))[..., np.newaxis]
    return np.asarray(left @ right)


def _turn(points: Sequence[Vector], rotation: Floats, spread: Floats, lever: Floats) -> Vector:
    moving = [(p.slopes, a) for p, a in zip(points, lever, strict=True) if p.slopes is not None]
    steps = np.concatenate([slopes for slopes, _ in moving])
    torque = np.concatenate([skew(arm) @ rotation for _, arm in moving], axis=1) @ steps
    stiffness = rotation @ spread.T
    inertia = np.trace(stiffness) * np.eye(3) - stiffness
    return Vector(np.zeros(3), -np.linalg.solve(inertia, torque))
