"""Circles through three points each: of many triangles at once, or of one over many trials.

The barycentric coordinates l of a triangle's corners p tell all. Their gradients g lie in its
plane: with the edges a, b from the first corner and m = a x b, those of the second and the third
corner are b x m / m^2 and m x a / m^2, and the centre lies at (a^2 g2 + b^2 g3) / 2 from the first.
With the unit normal n, centre c and radius R, corners that move by d move

    centre   by the sum of g ((p - c) . d) + l(c) n (n . d)
    normal   by minus the sum of g (n . d)
    radius   by the sum of l(c) ((p - c) . d) / R

because the height of the moved plane, and the change of half the squared distance from c round the
circle, are both linear over the plane and known at its corners. Calculus, no source needed.
"""

from typing import NamedTuple

import numpy as np

from app.geometry.dual import Floats


class Circumcircles(NamedTuple):
    """centre, normal: (3, w); radius: (w,); arms: (3, 3, w), corners from the centre; gradients:
    (3, 3, w), of the barycentric coordinates (3, w), which are those of the centre."""

    centre: Floats
    normal: Floats
    radius: Floats
    arms: Floats
    gradients: Floats
    barycentric: Floats

    @property
    def widths(self) -> Floats:
        """(w,): the least height of each triangle, mm."""
        return np.asarray(1.0 / np.sqrt(_squares(self.gradients.swapaxes(0, 1)).max(axis=0)))

    def local(self) -> Floats:
        """(w, 7, 9): derivatives of centre, normal and radius by the corners."""
        normal, by_height = self.normal, self.gradients[:, :, np.newaxis] * self.normal
        found = np.empty((7, *self.arms.shape))
        upright = self.barycentric[:, np.newaxis, np.newaxis] * (normal[:, np.newaxis] * normal)
        by_corner = self.gradients[:, :, np.newaxis] * self.arms[:, np.newaxis] + upright
        found[:3] = by_corner.swapaxes(0, 1)
        found[3:6] = -by_height.swapaxes(0, 1)
        found[6] = self.arms * (self.barycentric / self.radius)[:, np.newaxis]
        return found.transpose(3, 0, 1, 2).reshape(-1, 7, 9)


def circumcircles(corners: Floats, toward: Floats) -> Circumcircles:
    """corners: (3, 3, w), corner and component; toward: (3,), what the normals must agree with.

    Three corners on one line have no circle, but NaN.
    """
    first = corners[0]
    edges = corners[1:] - first
    across = cross(edges[0], edges[1])
    squares = _squares(across)
    with np.errstate(invalid="ignore"):
        normal = across / np.sqrt(squares)
        across /= squares
    normal *= np.where(toward @ normal < 0.0, -1.0, 1.0)
    gradients = np.empty(corners.shape)
    gradients[1] = cross(edges[1], across)
    gradients[2] = cross(across, edges[0])
    gradients[0] = -gradients[1] - gradients[2]
    halves = _squares(edges.swapaxes(0, 1)) / 2.0
    arm = gradients[1] * halves[0] + gradients[2] * halves[1]
    barycentric = (gradients * arm).sum(axis=1)
    barycentric[0] += 1.0
    centre = first + arm
    return Circumcircles(
        centre, normal, np.sqrt(_squares(arm)), corners - centre, gradients, barycentric
    )


def cross(a: Floats, b: Floats) -> Floats:
    """The vector product of columns (3, w), right-handed."""
    (x, y, z), (u, v, w) = a, b
    return np.array((y * w - z * v, z * u - x * w, x * v - y * u))


def _squares(a: Floats) -> Floats:
    """Of the lengths of columns (3, …)."""
    return np.asarray((a * a).sum(axis=0))
