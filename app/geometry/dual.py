"""Numbers and vectors that carry what a formula needs of them: derivatives, or many trials at once.

One text of each formula then serves the first-order propagation of uncertainty and Monte Carlo.
A quantity is in one of three states:

    with derivatives   value () or (3,), slopes (n,) or (3, n) by n inputs
    over trials        value (trials,) or (3, trials), slopes None
    constant           value () or (3,), slopes None; it may meet either of the others

Sums, differences, products and quotients are written with operators, the rest as functions. Over
trials nothing is raised: a trial without an answer (a root of a negative number, a direction of
no length) has NaN. With derivatives, the same raises ValueError or ZeroDivisionError.

Dual numbers, forward differentiation: textbook calculus, no source needed.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar, TypeVar, Union

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Number = Union["Scalar", float]


# Neither class is frozen: that alone would take as long as the sums of the shorter formulas.
@dataclass(slots=True, eq=False)
class Scalar:
    """value: () or (trials,); slopes: (n,) or None."""

    value: Floats | float
    slopes: Floats | None = None

    __array_ufunc__: ClassVar[None] = None
    """Arrays on the left leave the operation to this class."""

    def __add__(self, other: Number) -> "Scalar":
        if not isinstance(other, Scalar):
            return Scalar(self.value + other, self.slopes)
        return Scalar(self.value + other.value, _sum(self.slopes, other.slopes))

    def __sub__(self, other: Number) -> "Scalar":
        if not isinstance(other, Scalar):
            return Scalar(self.value - other, self.slopes)
        return Scalar(self.value - other.value, _difference(self.slopes, other.slopes))

    def __mul__(self, other: Number) -> "Scalar":
        if isinstance(other, Scalar):
            slopes = _scaled(other.value, self.slopes, self.value, other.slopes)
            return Scalar(self.value * other.value, slopes)
        if isinstance(other, Vector):
            return NotImplemented
        return Scalar(self.value * other, _times(self.slopes, other))

    def __truediv__(self, other: Number) -> "Scalar":
        inverse = reciprocal(scalar(other))
        slopes = _scaled(inverse.value, self.slopes, self.value, inverse.slopes)
        return Scalar(self.value * inverse.value, slopes)

    def __neg__(self) -> "Scalar":
        return Scalar(-self.value, None if self.slopes is None else -self.slopes)

    def __rsub__(self, other: float) -> "Scalar":
        return Scalar(other - self.value, None if self.slopes is None else -self.slopes)

    def __rtruediv__(self, other: float) -> "Scalar":
        return reciprocal(self) * other

    __radd__ = __add__
    __rmul__ = __mul__


@dataclass(slots=True, eq=False)
class Vector:
    """value: (3,) or (3, trials); slopes: (3, n) or None."""

    value: Floats
    slopes: Floats | None = None

    __array_ufunc__: ClassVar[None] = None

    def __getitem__(self, component: int) -> Scalar:
        value = self.value[component] if self.value.ndim > 1 else self.value.item(component)
        return Scalar(value, None if self.slopes is None else self.slopes[component])

    def __add__(self, other: "Vector") -> "Vector":
        one, two = self.value, other.value
        if one.ndim != two.ndim:
            one, two = _alike(one, two)
        return Vector(one + two, _sum(self.slopes, other.slopes))

    def __sub__(self, other: "Vector") -> "Vector":
        one, two = self.value, other.value
        if one.ndim != two.ndim:
            one, two = _alike(one, two)
        return Vector(one - two, _difference(self.slopes, other.slopes))

    def __mul__(self, factor: Number) -> "Vector":
        if not isinstance(factor, Scalar):
            return Vector(self.value * factor, _times(self.slopes, factor))
        value, number = self.value, factor.value
        if value.ndim == 1 and isinstance(number, np.ndarray) and number.ndim:
            value = value[:, np.newaxis]
        slopes = _times(self.slopes, number)
        if factor.slopes is not None:
            by_factor = self.value.reshape(3, 1).dot(factor.slopes.reshape(1, -1))
            slopes = by_factor if slopes is None else np.add(slopes, by_factor, out=slopes)
        return Vector(value * number, slopes)

    def __truediv__(self, divisor: Number) -> "Vector":
        return self * reciprocal(scalar(divisor))

    def __neg__(self) -> "Vector":
        return Vector(-self.value, None if self.slopes is None else -self.slopes)

    __rmul__ = __mul__


Quantity = TypeVar("Quantity", Scalar, Vector)


def scalar(number: Number) -> Scalar:
    """A number as a constant; a Scalar as it is."""
    return number if isinstance(number, Scalar) else Scalar(number)


def constant(components: Sequence[float] | Floats) -> Vector:
    """Three numbers as a constant vector."""
    return Vector(np.array(components, dtype=np.float64))


def vector(x: Number, y: Number, z: Number) -> Vector:
    """The vector of three components, of which some may be constants."""
    parts = [scalar(part) for part in (x, y, z)]
    value = np.array(np.broadcast_arrays(*[part.value for part in parts]), dtype=np.float64)
    known = [part.slopes for part in parts if part.slopes is not None]
    if not known:
        return Vector(value)
    none = np.zeros_like(known[0])
    return Vector(value, np.array([none if p.slopes is None else p.slopes for p in parts]))


def mean(quantities: Sequence[Quantity]) -> Quantity:
    """The plain mean of one or more."""
    total = quantities[0]
    for quantity in quantities[1:]:
        total = total + quantity
    return total * (1.0 / len(quantities))


def dot(a: Vector, b: Vector) -> Scalar:
    """The scalar product."""
    one, other = a.value, b.value
    if one.ndim == other.ndim == 1:
        return Scalar(float(one.dot(other)), _led(other, a.slopes, one, b.slopes))
    one, other = _alike(one, other)
    return Scalar(_total(one * other))


def cross(a: Vector, b: Vector) -> Vector:
    """The vector product, right-handed."""
    one, other = a.value, b.value
    if one.ndim == other.ndim == 1:
        turned = skew(one)
        return Vector(turned.dot(other), _led(skew(-other), a.slopes, turned, b.slopes))
    (x, y, z), (u, v, w) = _alike(one, other)
    return Vector(np.array((y * w - z * v, z * u - x * w, x * v - y * u)))


def skew(a: Floats) -> Floats:
    """The matrix (3, 3) that turns b into a × b; of several vectors (m, 3) the matrices."""
    matrix: Floats = a.dot(_SKEW)
    return matrix.reshape(*a.shape, 3)


def norm(a: Vector) -> Scalar:
    """The length."""
    value = a.value
    if value.ndim > 1:
        return Scalar(np.sqrt(_total(value * value)))
    length = math.sqrt(value.dot(value))
    return Scalar(length, None if a.slopes is None else (value * (1.0 / length)).dot(a.slopes))


def unit(a: Vector) -> Vector:
    """The direction: a at length one."""
    value = a.value
    if value.ndim > 1:
        with np.errstate(invalid="ignore", divide="ignore"):
            return Vector(value / np.sqrt(_total(value * value)))
    length = math.sqrt(value.dot(value))
    direction = value * (1.0 / length)
    if a.slopes is None:
        return Vector(direction)
    column = direction.reshape(3, 1)
    square = (_IDENTITY - column.dot(column.T)) * (1.0 / length)
    return Vector(direction, square.dot(a.slopes))


def square_to(a: Vector, direction: Vector) -> Vector:
    """The part of a that is square to a unit vector."""
    one, other = a.value, direction.value
    if one.ndim > 1 or other.ndim > 1:
        return a - direction * dot(direction, a)
    column, along = other.reshape(3, 1), float(one.dot(other))
    by_a = _IDENTITY - column.dot(column.T)
    by_direction = _IDENTITY * -along - column.dot(one.reshape(1, 3))
    return Vector(one - other * along, _led(by_a, a.slopes, by_direction, direction.slopes))


def reciprocal(x: Scalar) -> Scalar:
    """1 / x."""
    if x.slopes is None:
        with np.errstate(invalid="ignore", divide="ignore"):
            return Scalar(np.divide(1.0, x.value))
    value = 1.0 / float(x.value)
    return Scalar(value, x.slopes * (-value * value))


def sqrt(x: Scalar) -> Scalar:
    """The root."""
    if x.slopes is None:
        with np.errstate(invalid="ignore"):
            return Scalar(np.sqrt(x.value))
    value = math.sqrt(x.value)
    return Scalar(value, x.slopes * (0.5 / value))


def sin(x: Scalar) -> Scalar:
    """The sine; radians."""
    if x.slopes is None:
        return Scalar(np.sin(x.value))
    return Scalar(math.sin(x.value), x.slopes * math.cos(x.value))


def cos(x: Scalar) -> Scalar:
    """The cosine; radians."""
    if x.slopes is None:
        return Scalar(np.cos(x.value))
    return Scalar(math.cos(x.value), x.slopes * -math.sin(x.value))


def tan(x: Scalar) -> Scalar:
    """The tangent; radians."""
    if x.slopes is None:
        return Scalar(np.tan(x.value))
    value = math.tan(x.value)
    return Scalar(value, x.slopes * (1.0 + value * value))


def asin(x: Scalar) -> Scalar:
    """The angle of that sine; radians."""
    if x.slopes is None:
        with np.errstate(invalid="ignore"):
            return Scalar(np.arcsin(x.value))
    value = float(x.value)
    return Scalar(math.asin(value), x.slopes * (1.0 / math.sqrt(1.0 - value * value)))


def atan2(y: Scalar, x: Scalar) -> Scalar:
    """The angle from x towards y; radians, over -pi to pi."""
    if y.slopes is None and x.slopes is None:
        return Scalar(np.arctan2(y.value, x.value))
    over, along = float(y.value), float(x.value)
    share = 1.0 / (over * over + along * along)
    slopes = _scaled(along * share, y.slopes, -over * share, x.slopes)
    return Scalar(math.atan2(over, along), slopes)


def hypot(x: Scalar, y: Scalar) -> Scalar:
    """The root of x² + y²."""
    if x.slopes is None and y.slopes is None:
        return Scalar(np.hypot(x.value, y.value))
    one, other = float(x.value), float(y.value)
    value = math.hypot(one, other)
    return Scalar(value, _scaled(one / value, x.slopes, other / value, y.slopes))


_IDENTITY = np.eye(3)
_SKEW = np.zeros((3, 9))
"""The elements of that matrix, by x, y and z."""
_SKEW[0, 7], _SKEW[1, 2], _SKEW[2, 3] = 1.0, 1.0, 1.0
_SKEW[0, 5], _SKEW[1, 6], _SKEW[2, 1] = -1.0, -1.0, -1.0


def _alike(one: Floats, other: Floats) -> tuple[Floats, Floats]:
    """A constant vector beside trials gets an axis for them."""
    if one.ndim < other.ndim:
        return one[:, np.newaxis], other
    if other.ndim < one.ndim:
        return one, other[:, np.newaxis]
    return one, other


def _total(products: Floats) -> Floats:
    """The sum of three rows, which are used up: faster than NumPy's own along a short axis."""
    total: Floats = products[0]
    total += products[1]
    total += products[2]
    return total


def _sum(one: Floats | None, other: Floats | None) -> Floats | None:
    if one is None:
        return other
    return one if other is None else one + other


def _difference(one: Floats | None, other: Floats | None) -> Floats | None:
    if other is None:
        return one
    return -other if one is None else one - other


def _times(slopes: Floats | None, factor: Floats | float) -> Floats | None:
    return None if slopes is None else slopes * factor


def _scaled(
    by_one: Floats | float, one: Floats | None, by_other: Floats | float, other: Floats | None
) -> Floats | None:
    """The chain rule for two numbers."""
    if one is None or other is None:
        return _times(other, by_other) if one is None else _times(one, by_one)
    slopes = one * by_one
    slopes += other * by_other
    return slopes


def _led(
    by_one: Floats, one: Floats | None, by_other: Floats, other: Floats | None
) -> Floats | None:
    """The chain rule for two vectors. Of arrays as small as these, `dot` is faster than `@`."""
    if one is None:
        return None if other is None else np.asarray(by_other.dot(other))
    slopes: Floats = by_one.dot(one)
    if other is not None:
        slopes += by_other.dot(other)
    return slopes
