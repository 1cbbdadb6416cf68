"""The pivot axis and the steering axis, and everything that was measured on or round them.

One model serves all their points. A body turns about an axis: a steering target sits at a fixed
place (b0, b1, b2) of the turning part and is seen at station angles psi; a point on an axis is a
body with b0 = b1 = 0, its place along the axis being one more unknown, so that the fit minimises
the true distance from the axis whatever the covariance of the point. In the frame of a block
(third direction along the starting axis)

    position = (x, y, 0) + R(a, b) (b0 cos psi - b1 sin psi, b0 sin psi + b1 cos psi, b2)

where R turns the third direction into (a, b, 1) / |(a, b, 1)| by the shortest way. An axis has the
four unknowns a, b, x, y; T targets at S stations add 3T + S - 1.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from app.chassis.survey import Floats

Indices = NDArray[np.intp]
Rows = tuple[tuple[float, float, float], tuple[float, float, float], tuple[float, float, float]]


@dataclass(frozen=True, slots=True)
class Block:
    """Rows `first` to `last` (excluded) belong to the axis whose unknowns start at `column`."""

    first: int
    last: int
    column: int


@dataclass(frozen=True, slots=True)
class Spacing:
    """A distance between two targets that is known: columns of the bodies, mm, u in mm."""

    one: int
    other: int
    length: float
    u: float


@dataclass(frozen=True, slots=True)
class Observations:
    """Points in the frames of their blocks, and where their unknowns stand.

    position: (n, 3), mm; whitening: (n, 1), one over u, or (n, 3, 3); index: (4, n), for each
    point the places of b0, b1, b2 and psi in the parameters, counted from 1; 0 means: is zero.
    """

    position: Floats
    whitening: Floats
    index: Indices
    blocks: tuple[Block, ...]
    spacings: tuple[Spacing, ...]
    unknowns: int

    @property
    def count(self) -> int:
        """How many numbers were observed."""
        return self.position.size + len(self.spacings)


def whiten(whitening: Floats, vectors: Floats) -> Floats:
    """Vectors (n, 3) or (n, 3, m) divided by the standard uncertainty of their points."""
    if whitening.ndim == 2:
        return vectors * (whitening if vectors.ndim == 2 else whitening[:, :, np.newaxis])
    if vectors.ndim == 2:
        return np.asarray((whitening @ vectors[:, :, np.newaxis])[:, :, 0])
    return np.asarray(whitening @ vectors)


def rotation(a: float, b: float) -> Rows:
    """Rows of the matrix that turns the third direction into (a, b, 1) / |(a, b, 1)| by the
    shortest way."""
    z = 1.0 / math.sqrt(1.0 + a * a + b * b)
    x, y, k = a * z, b * z, 1.0 / (1.0 + z)
    cross = -x * y * k
    return ((1.0 - x * x * k, cross, x), (cross, 1.0 - y * y * k, y), (-x, -y, z))


def rotation_slopes(a: float, b: float) -> tuple[Rows, Rows]:
    """Derivatives of `rotation` by a and by b."""
    z = 1.0 / math.sqrt(1.0 + a * a + b * b)
    x, y, k = a * z, b * z, 1.0 / (1.0 + z)
    by_a = _rotation_change(x, y, k, z * (1.0 - x * x), -x * y * z, -x * z * z)
    by_b = _rotation_change(x, y, k, -x * y * z, z * (1.0 - y * y), -y * z * z)
    return by_a, by_b


def _rotation_change(x: float, y: float, k: float, dx: float, dy: float, dz: float) -> Rows:
    dk = -k * k * dz
    cross = -(dx * y + x * dy) * k - x * y * dk
    return (
        (-x * (2.0 * dx * k + x * dk), cross, dx),
        (cross, -y * (2.0 * dy * k + y * dk), dy),
        (-dx, -dy, dz),
    )


def residuals(parameters: Floats, observations: Observations) -> Floats:
    """Observed minus modelled, each over its standard uncertainty: (3 n + spacings,)."""
    return _residuals(parameters, observations, _turned(parameters, observations)[0])


def _turned(parameters: Floats, observations: Observations) -> tuple[Floats, Floats]:
    """(n, 4) bodies at their stations, and a one to shift them by; (2, n) cosine and sine."""
    known = np.zeros(len(parameters) + 1)
    known[1:] = parameters
    b0, b1, b2, psi = known[observations.index]
    turn = np.empty((2, len(psi)))
    cosine, sine = np.cos(psi, out=turn[0]), np.sin(psi, out=turn[1])
    body = np.ones((len(psi), 4))
    body[:, 0] = cosine * b0 - sine * b1
    body[:, 1] = sine * b0 + cosine * b1
    body[:, 2] = b2
    return body, turn


def _residuals(parameters: Floats, observations: Observations, body: Floats) -> Floats:
    difference = observations.position.copy()
    for block in observations.blocks:
        a, b, x, y = parameters[block.column : block.column + 4].tolist()
        first, second, third = rotation(a, b)
        placed = np.array(((*first, x), (*second, y), (*third, 0.0)))
        difference[block.first : block.last] -= body[block.first : block.last] @ placed.T
    values = whiten(observations.whitening, difference).ravel()
    if not observations.spacings:
        return values
    return np.concatenate((values, _spacing_residuals(parameters, observations.spacings)))


def jacobian(parameters: Floats, observations: Observations) -> Floats:
    """Derivatives of `residuals`: (3 n + spacings, p)."""
    return _jacobian(parameters, observations, *_turned(parameters, observations))


def _jacobian(parameters: Floats, observations: Observations, body: Floats, turn: Floats) -> Floats:
    count = len(body)
    moved = np.zeros((4, count, 3))
    moved[0, :, :2] = turn.T
    moved[1, :, 0], moved[1, :, 1] = -turn[1], turn[0]
    moved[2, :, 2] = 1.0
    moved[3, :, 0], moved[3, :, 1] = -body[:, 1], body[:, 0]
    slopes = np.zeros((count, 3, observations.unknowns + 1))
    for block in observations.blocks:
        rows, column = slice(block.first, block.last), block.column + 1
        a, b = parameters[block.column : block.column + 2].tolist()
        matrices = np.array((rotation(a, b), *rotation_slopes(a, b)))
        moved[:, rows] = moved[:, rows] @ matrices[0].T
        by_tilt = body[rows, :3] @ matrices[1:].transpose(0, 2, 1)
        slopes[rows, :, column : column + 2] = by_tilt.transpose(1, 2, 0)
        slopes[rows, 0, column + 2] = 1.0
        slopes[rows, 1, column + 3] = 1.0
    slopes[np.arange(count), :, observations.index] = moved
    whitened = -whiten(observations.whitening, slopes)[:, :, 1:].reshape(3 * count, -1)
    if not observations.spacings:
        return whitened
    return np.concatenate((whitened, _spacing_slopes(parameters, observations)))


class Model:
    """`residuals` and `jacobian` of some observations, for a solver that asks for both in turn.

    The turned bodies of the last parameters are kept, because the derivatives need them again.
    """

    def __init__(self, observations: Observations) -> None:
        self.observations = observations
        self._at: Floats | None = None
        self._bodies: tuple[Floats, Floats]

    def residuals(self, parameters: Floats) -> Floats:
        self._at, self._bodies = parameters, _turned(parameters, self.observations)
        return _residuals(parameters, self.observations, self._bodies[0])

    def jacobian(self, parameters: Floats) -> Floats:
        if parameters is not self._at:
            self._at, self._bodies = parameters, _turned(parameters, self.observations)
        return _jacobian(parameters, self.observations, *self._bodies)


def rounding_floor(observations: Observations) -> float:
    """How large rounding alone makes a whitened step: smaller ones say nothing."""
    whitened = whiten(observations.whitening, observations.position)
    return 4.0 * float(np.finfo(np.float64).eps) * math.sqrt(float(np.vdot(whitened, whitened)))


def _between(parameters: Floats, spacing: Spacing) -> Floats:
    one = parameters[spacing.one : spacing.one + 3]
    return np.asarray(one - parameters[spacing.other : spacing.other + 3])


def _spacing_residuals(parameters: Floats, spacings: tuple[Spacing, ...]) -> Floats:
    lengths = [math.sqrt(float(d @ d)) for d in (_between(parameters, s) for s in spacings)]
    return np.array(
        [(s.length - length) / s.u for s, length in zip(spacings, lengths, strict=True)]
    )


def _spacing_slopes(parameters: Floats, observations: Observations) -> Floats:
    slopes = np.zeros((len(observations.spacings), observations.unknowns))
    for row, spacing in zip(slopes, observations.spacings, strict=True):
        between = _between(parameters, spacing)
        direction = between / (math.sqrt(between @ between) * spacing.u)
        row[spacing.one : spacing.one + 3] = -direction
        row[spacing.other : spacing.other + 3] = direction
    return slopes
