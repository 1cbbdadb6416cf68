"""Circles in space."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from app.geometry.planes import fit_plane

Floats = NDArray[np.float64]

MOST_STEPS = 200


@dataclass(frozen=True, slots=True)
class Circle:
    centre: Floats
    """(3,), mm."""
    normal: Floats
    """(3,), of unit length; its sign means nothing."""
    radius: float
    """mm."""


def fit_circle(points: Floats, weights: ArrayLike | None = None) -> Circle:
    """The circle that minimises the weighted sum of squared distances of the points in space.

    points: (n, 3), mm; weights: (n,), one over the variance of each point's coordinates, default
    equal. Raises ValueError for fewer than three points, for points on one line, and where the
    iteration does not settle. A point's squared distance is the square of its radial plus that of
    its axial distance; Gauss-Newton steps, halved while they do not go down (W. Gander, G. H.
    Golub and R. Strebel, BIT 34 (1994) 558-578, who do so in the plane).
    """
    root = np.sqrt(np.ones(len(points)) if weights is None else np.asarray(weights, dtype=float))
    circle = _start(points, root**2)
    for _ in range(MOST_STEPS):
        residual, jacobian, axes = _linearise(circle, points, root)
        step = np.asarray(np.linalg.lstsq(jacobian, -residual, rcond=None)[0], dtype=np.float64)
        circle = _descend(circle, step, axes, points, root)
        if np.all(np.abs(step[[0, 1, 2, 5]]) < 1e-11 * (1.0 + circle.radius)):
            return circle
    raise ValueError("the circle does not settle")


def _start(points: Floats, weights: Floats) -> Circle:
    """Circle in the best plane through an algebraic fit (linear in centre and constant)."""
    plane = fit_plane(points, weights)
    first, second = _across(plane.normal)
    flat = (points - plane.point) @ np.stack([first, second], axis=1)
    if np.linalg.matrix_rank(flat, tol=1e-9 * np.abs(flat).max()) < 2:
        raise ValueError("points on one line have no circle")
    root = np.sqrt(weights)[:, np.newaxis]
    design = np.column_stack([2.0 * flat, np.ones(len(flat))])
    squares = np.sum(flat**2, axis=1, keepdims=True)
    x, y, constant = np.linalg.lstsq(design * root, squares * root, rcond=None)[0][:, 0]
    centre = plane.point + x * first + y * second
    return Circle(centre, plane.normal, float(np.sqrt(constant + x * x + y * y)))


def _across(normal: Floats) -> tuple[Floats, Floats]:
    """Two unit vectors square to the normal and to one another."""
    first = np.cross(normal, np.eye(3)[int(np.argmin(np.abs(normal)))])
    first = first / np.linalg.norm(first)
    return first, np.cross(normal, first)


def _residuals(circle: Circle, points: Floats) -> tuple[Floats, Floats, Floats, Floats]:
    """Radial and axial distance, the unit vector outward in the plane, and the distance out."""
    arm = points - circle.centre
    axial = arm @ circle.normal
    flat = arm - np.outer(axial, circle.normal)
    out = np.linalg.norm(flat, axis=1)
    return out - circle.radius, axial, flat / out[:, np.newaxis], out


def _linearise(
    circle: Circle, points: Floats, root: Floats
) -> tuple[Floats, Floats, tuple[Floats, Floats]]:
    """Residuals (2n,), derivatives (2n, 6) by centre, two tilts and radius; the tilts' axes."""
    radial, axial, outward, out = _residuals(circle, points)
    axes = _across(circle.normal)
    jacobian = np.zeros((2, len(points), 6))
    jacobian[0, :, :3] = -outward
    jacobian[1, :, :3] = -circle.normal
    for column, axis in enumerate(axes, start=3):
        lean = outward @ axis
        jacobian[0, :, column] = -axial * lean
        jacobian[1, :, column] = out * lean
    jacobian[0, :, 5] = -1.0
    weighted = jacobian * root[:, np.newaxis]
    return np.concatenate([radial * root, axial * root]), weighted.reshape(-1, 6), axes


def _descend(
    circle: Circle, step: Floats, axes: tuple[Floats, Floats], points: Floats, root: Floats
) -> Circle:
    start = _cost(circle, points, root)
    moved = circle
    for halvings in range(30):
        part = step * 0.5**halvings
        normal = circle.normal + part[3] * axes[0] + part[4] * axes[1]
        moved = Circle(
            circle.centre + part[:3],
            normal / np.linalg.norm(normal),
            circle.radius + float(part[5]),
        )
        if _cost(moved, points, root) <= start * (1.0 + 1e-12):
            break
    return moved


def _cost(circle: Circle, points: Floats, root: Floats) -> float:
    radial, axial = _residuals(circle, points)[:2]
    return float(np.sum((radial * root) ** 2 + (axial * root) ** 2))
