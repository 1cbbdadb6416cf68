"""The shortest turn that takes the third direction of a frame to a neighbouring one."""

import math

Vector = tuple[float, float, float]
Rows = tuple[Vector, Vector, Vector]


def rotation(a: float, b: float) -> Rows:
    """Rows of the matrix that turns the third direction into (a, b, 1) / |(a, b, 1)|."""
    z = 1.0 / math.sqrt(1.0 + a * a + b * b)
    x, y, k = a * z, b * z, 1.0 / (1.0 + z)
    cross = -x * y * k
    return ((1.0 - x * x * k, cross, x), (cross, 1.0 - y * y * k, y), (-x, -y, z))


def rotation_slopes(a: float, b: float) -> tuple[float, ...]:
    """Derivatives of `rotation` by a, then by b: nine each, row by row."""
    z = 1.0 / math.sqrt(1.0 + a * a + b * b)
    x, y, k = a * z, b * z, 1.0 / (1.0 + z)
    by_a, by_b = direction_slopes(a, b)
    return _change(x, y, k, *by_a) + _change(x, y, k, *by_b)


def direction_slopes(a: float, b: float) -> tuple[Vector, Vector]:
    """Derivatives of (a, b, 1) / |(a, b, 1)| by a, and by b."""
    z = 1.0 / math.sqrt(1.0 + a * a + b * b)
    x, y = a * z, b * z
    mixed = -x * y * z
    return (z * (1.0 - x * x), mixed, -x * z * z), (mixed, z * (1.0 - y * y), -y * z * z)


def _change(x: float, y: float, k: float, dx: float, dy: float, dz: float) -> tuple[float, ...]:
    dk = -k * k * dz
    cross = -(dx * y + x * dy) * k - x * y * dk
    return (
        *(-x * (2.0 * dx * k + x * dk), cross, dx),
        *(cross, -y * (2.0 * dy * k + y * dk), dy),
        *(-dx, -dy, dz),
    )
