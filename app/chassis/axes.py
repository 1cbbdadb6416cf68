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
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from app.chassis.survey import Floats

Indices = NDArray[np.intp]


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


def rotation(a: float, b: float) -> Floats:
    """(3, 3): turns the third direction into (a, b, 1) / |(a, b, 1)| by the shortest way."""
    z = 1.0 / math.sqrt(1.0 + a * a + b * b)
    x, y, k = a * z, b * z, 1.0 / (1.0 + z)
    cross = -x * y * k
    return np.array(((1.0 - x * x * k, cross, x), (cross, 1.0 - y * y * k, y), (-x, -y, z)))


def rotation_slopes(a: float, b: float) -> Floats:
    """(2, 3, 3): derivatives of `rotation` by a and by b."""
    z = 1.0 / math.sqrt(1.0 + a * a + b * b)
    x, y, k = a * z, b * z, 1.0 / (1.0 + z)
    slopes = []
    for dx, dy, dz in (
        (z * (1.0 - x * x), -x * y * z, -x * z * z),
        (-x * y * z, z * (1.0 - y * y), -y * z * z),
    ):
        dk = -k * k * dz
        cross = -(dx * y + x * dy) * k - x * y * dk
        slopes.append(
            (
                (-2.0 * x * dx * k - x * x * dk, cross, dx),
                (cross, -2.0 * y * dy * k - y * y * dk, dy),
                (-dx, -dy, dz),
            )
        )
    return np.array(slopes)


def residuals(parameters: Floats, observations: Observations) -> Floats:
    """Observed minus modelled, each over its standard uncertainty: (3 n + spacings,)."""
    known = np.concatenate((_ZERO, parameters))
    b0, b1, b2, psi = known[observations.index]
    cosine, sine = np.cos(psi), np.sin(psi)
    body = np.stack((cosine * b0 - sine * b1, sine * b0 + cosine * b1, b2), axis=1)
    difference = observations.position.copy()
    for block in observations.blocks:
        a, b, x, y = parameters[block.column : block.column + 4].tolist()
        rows = difference[block.first : block.last]
        rows -= body[block.first : block.last] @ rotation(a, b).T
        rows -= (x, y, 0.0)
    values = whiten(observations.whitening, difference).ravel()
    if not observations.spacings:
        return values
    return np.concatenate((values, _spacing_residuals(parameters, observations.spacings)))


def jacobian(parameters: Floats, observations: Observations) -> Floats:
    """Derivatives of `residuals`: (3 n + spacings, p)."""
    known = np.concatenate((_ZERO, parameters))
    b0, b1, b2, psi = known[observations.index]
    cosine, sine = np.cos(psi), np.sin(psi)
    count = len(b0)
    body = np.stack((cosine * b0 - sine * b1, sine * b0 + cosine * b1, b2), axis=1)
    moved = np.zeros((4, count, 3))
    moved[0, :, 0], moved[0, :, 1] = cosine, sine
    moved[1, :, 0], moved[1, :, 1] = -sine, cosine
    moved[2, :, 2] = 1.0
    moved[3, :, 0], moved[3, :, 1] = -body[:, 1], body[:, 0]
    slopes = np.zeros((count, 3, observations.unknowns + 1))
    for block in observations.blocks:
        rows, column = slice(block.first, block.last), block.column + 1
        a, b = parameters[block.column : block.column + 2].tolist()
        moved[:, rows] = moved[:, rows] @ rotation(a, b).T
        by_tilt = body[rows] @ rotation_slopes(a, b).transpose(0, 2, 1)
        slopes[rows, :, column : column + 2] = by_tilt.transpose(1, 2, 0)
        slopes[rows, 0, column + 2] = 1.0
        slopes[rows, 1, column + 3] = 1.0
    slopes[np.arange(count), :, observations.index] = moved
    whitened = -whiten(observations.whitening, slopes)[:, :, 1:].reshape(3 * count, -1)
    if not observations.spacings:
        return whitened
    return np.concatenate((whitened, _spacing_slopes(parameters, observations)))


def restricted(observations: Observations, rows: NDArray[np.bool_]) -> tuple[Observations, Indices]:
    """Only some of the points (with every spacing whose bodies remain), and their unknowns.

    rows: (n,). Returns the observations, and which of the former unknowns (p',) they still have.
    """
    index = observations.index[:, rows]
    used = np.zeros(observations.unknowns + 1, dtype=bool)
    used[index] = True
    counts = np.concatenate(([0], np.cumsum(rows)))
    remaining = []
    for block in observations.blocks:
        first, last = int(counts[block.first]), int(counts[block.last])
        if last > first:
            used[block.column + 1 : block.column + 5] = True
            remaining.append((first, last, block.column))
    used[0] = False
    place = np.cumsum(used)
    place[~used] = 0
    return (
        Observations(
            observations.position[rows],
            observations.whitening[rows],
            place[index],
            tuple(Block(f, n, int(place[column + 1]) - 1) for f, n, column in remaining),
            tuple(_renumbered(observations.spacings, place)),
            int(np.count_nonzero(used)),
        ),
        np.flatnonzero(used) - 1,
    )


def _renumbered(spacings: Iterable[Spacing], place: Indices) -> Iterable[Spacing]:
    for spacing in spacings:
        one, other = int(place[spacing.one + 1]), int(place[spacing.other + 1])
        if one and other:
            yield Spacing(one - 1, other - 1, spacing.length, spacing.u)


def rounding_floor(observations: Observations) -> float:
    """How large rounding alone makes a whitened step: smaller ones say nothing."""
    whitened = whiten(observations.whitening, observations.position)
    return 4.0 * float(np.finfo(np.float64).eps) * math.sqrt(float(np.vdot(whitened, whitened)))


_ZERO = np.zeros(1)


def _between(parameters: Floats, spacing: Spacing) -> Floats:
    one = parameters[spacing.one : spacing.one + 3]
    return np.asarray(one - parameters[spacing.other : spacing.other + 3])


def _spacing_residuals(parameters: Floats, spacings: tuple[Spacing, ...]) -> Floats:
    lengths = [math.dist(_between(parameters, spacing), (0.0, 0.0, 0.0)) for spacing in spacings]
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
