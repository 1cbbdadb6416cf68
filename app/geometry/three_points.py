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

import math
from typing import NamedTuple

import numpy as np

from app.geometry.dual import Floats

YZX, ZXY = np.array((1, 2, 0)), np.array((2, 0, 1))


class Circumcircles(NamedTuple):
    """centre, normal: (3, w); radius: (w,); lift: (w,), by which the centre was lowered;
    arms, gradients: (3, 3, w), component and corner, of the corners from the centre before that,
    and of the barycentric coordinates; barycentric: (3, w), of that centre."""

    centre: Floats
    normal: Floats
    radius: Floats
    lift: Floats | float
    arms: Floats
    gradients: Floats
    barycentric: Floats

    @property
    def width(self) -> float:
        """The least height of all triangles, mm; NaN where corners lie on one line."""
        return 1.0 / math.sqrt(_squares(self.gradients).max())

    def local(self) -> Floats:
        """(w, 7, 9): derivatives of centre, normal and radius by the corners."""
        normal, inward = self.normal, self.barycentric[:, np.newaxis]
        arms, gradients = self.arms.swapaxes(0, 1), self.gradients[:, :, np.newaxis]
        found = np.empty((7, *arms.shape))
        found[:3] = gradients * (arms + self.lift * normal)
        found[:3] += normal[:, np.newaxis, np.newaxis] * (inward * normal)
        found[3:6] = gradients * -normal
        found[6] = arms * (inward / self.radius)
        return found.transpose(3, 0, 1, 2).reshape(-1, 7, 9)


def circumcircles(corners: Floats, lift: Floats | float, toward: Floats) -> Circumcircles:
    """corners: (3, 3, w), component and corner; lift: (w,), mm, how far along the normal the
    corners lie above the circle that is meant; toward: (3,), what the normals must agree with.

    Three corners on one line have no circle, but NaN.
    """
    edges = corners[:, 1:] - corners[:, :1]
    across = cross(edges[:, 0], edges[:, 1])
    squares = _squares(across)
    with np.errstate(invalid="ignore"):
        normal = across / np.sqrt(squares)
        across /= squares
    normal *= np.copysign(1.0, toward.dot(normal))
    turned = cross(edges[:, ::-1], across[:, np.newaxis])
    gradients = np.empty(corners.shape)
    gradients[:, 0] = turned[:, 1] - turned[:, 0]
    gradients[:, 1], gradients[:, 2] = turned[:, 0], -turned[:, 1]
    arm = (gradients[:, 1:] * (_squares(edges) / 2.0)).sum(axis=1)
    barycentric = (gradients * arm[:, np.newaxis]).sum(axis=0)
    barycentric[0] += 1.0
    centre = corners[:, 0] + arm
    return Circumcircles(
        centre - lift * normal,
        normal,
        np.sqrt(_squares(arm)),
        lift,
        corners - centre[:, np.newaxis],
        gradients,
        barycentric,
    )


def cross(a: Floats, b: Floats) -> Floats:
    """The vector product of columns (3, …), right-handed."""
    return np.asarray(a.take(YZX, 0) * b.take(ZXY, 0) - a.take(ZXY, 0) * b.take(YZX, 0))


def _squares(a: Floats) -> Floats:
    """Of the lengths of columns (3, …)."""
    return np.asarray((a * a).sum(axis=0))
