"""The rigid fit of points to fixed places, with derivatives or over many trials."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from app.geometry.dual import Floats, Vector, constant, skew
from app.geometry.dual_sums import combined, over_trials, stacked


@dataclass(frozen=True, slots=True)
class Superposition:
    """What brings the points nearest to the places: turned about their centre, then shifted.

    rotation: (3, 3), over trials (trials, 3, 3); slopes: (3, 3, n), of its elements, None without
    derivatives.
    """

    rotation: Floats
    slopes: Floats | None
    centre: Vector
    centre_of_places: Vector

    def direction(self, vector: Vector) -> Vector:
        """A vector in the axes of the places."""
        if self.rotation.ndim > 2:
            subscripts = "tij,jt->it" if vector.value.ndim > 1 else "tij,j->it"
            return Vector(np.einsum(subscripts, self.rotation, vector.value))
        slopes = None if vector.slopes is None else self.rotation.dot(vector.slopes)
        if self.slopes is not None:
            by_turn = vector.value @ self.slopes
            slopes = by_turn if slopes is None else slopes + by_turn
        return Vector(self.rotation.dot(vector.value), slopes)

    def place(self, point: Vector) -> Vector:
        """A point in the axes of the places."""
        return self.direction(point - self.centre) + self.centre_of_places


def superposition(points: Sequence[Vector], places: Floats, weights: Floats) -> Superposition:
    """Least weighted sum of squared distances; points: m of them, places: (m, 3), weights: (m,).

    Never a mirror image. The rotation is the one whose product with the sum of w place point' is
    largest; it is a quadratic form of the quaternion, largest for the eigenvector of the largest
    eigenvalue: B. K. P. Horn, J. Opt. Soc. Am. A 4 (1987) 629-642. `geometry.rigid` finds the same
    by singular values. Derivatives by the first order of an eigenvector's perturbation.
    """
    share = weights / weights.sum()
    middle = share.dot(places)
    lever = (places - middle) * share[:, np.newaxis]
    # The places' centre is taken out of the levers, so that the points' own centre drops out.
    if over_trials(points):
        outer = [_outer(a, p.value) for a, p in zip(lever, points, strict=True)]
        best = _by_size(np.add.reduce(np.broadcast_arrays(*outer)))[1][..., 3]
        return Superposition(_rotation(best), None, combined(share, points), constant(middle))
    values, steps = stacked(points)
    sizes, quaternions = _by_size(lever.T.dot(values))
    rotation, centre = _rotation(quaternions[:, 3]), share.dot(values)
    if steps is None:
        return Superposition(rotation, None, Vector(centre), constant(middle))
    by_point = steps.reshape(len(steps), -1)
    moments = lever.T.dot(by_point).reshape(9, -1)
    slopes = _gain(sizes, quaternions).dot(moments).reshape(3, 3, -1)
    moving = Vector(centre, share.dot(by_point).reshape(3, -1))
    return Superposition(rotation, slopes, moving, constant(middle))


def _outer(lever: Floats, point: Floats) -> Floats:
    """(trials, 3, 3), or (1, 3, 3) for a point that is the same in all."""
    columns = point.T if point.ndim > 1 else point[np.newaxis]
    return np.asarray(lever[:, np.newaxis] * columns[:, np.newaxis, :])


def _by_size(moments: Floats) -> tuple[Floats, Floats]:
    """Eigenvalues (…, 4), rising, and eigenvectors (…, 4, 4) of the quadratic form; moments:
    (…, 3, 3), sum of w place point'."""
    batch = moments.shape[:-2]
    # A row for each trial, not one product for all: that would be shared out to threads, which wait
    # for one another longer than it takes.
    form = moments.reshape(*batch, 1, 9) @ _ELEMENTS
    sizes, vectors = np.linalg.eigh(form.reshape(*batch, 4, 4))
    return sizes, vectors


def _rotation(quaternion: Floats) -> Floats:
    """(…, 3, 3) of (…, 4), w, x, y, z."""
    squares = quaternion[..., :, np.newaxis] * quaternion[..., np.newaxis, :]
    elements: Floats = squares.reshape(*squares.shape[:-2], 1, 16) @ _ELEMENTS.T
    return elements.reshape(*elements.shape[:-2], 3, 3)


def _gain(sizes: Floats, vectors: Floats) -> Floats:
    """(9, 9): derivatives of the rotation's elements by the moments."""
    by_others = (_ELEMENTS.reshape(9, 4, 4) @ vectors[:, 3]).dot(vectors[:, :3])
    return np.asarray((by_others * (2.0 / (sizes[3] - sizes[:3]))).dot(by_others.T))


def _elements() -> Floats:
    """(9, 16): each element of a rotation as a quadratic form of its quaternion (w, v), from
    (w² - v·v) 1 + 2 v v' + 2 w [v ×]."""
    forms = np.zeros((3, 3, 4, 4))
    for i in range(3):
        forms[i, i] = np.diag((1.0, -1.0, -1.0, -1.0))
        for j in range(3):
            forms[i, j, i + 1, j + 1] += 1.0
            forms[i, j, j + 1, i + 1] += 1.0
    forms[:, :, 0, 1:] = forms[:, :, 1:, 0] = np.moveaxis(skew(np.eye(3)), 0, -1)
    return forms.reshape(9, 16)


_ELEMENTS = _elements()
