"""The pivot axis and the steering axis, and everything that was measured on or round them.

One model serves all their points. A body turns about an axis: a steering target sits at a fixed
place (b0, b1, b2) of the turning part and is seen at station angles psi; a point on an axis is a
body with b0 = b1 = 0, its place along the axis being one more unknown, so that the fit minimises
the true distance from the axis whatever the covariance of the point. In the frame of a block
(third direction along the starting axis)

    position = (x, y, 0) + R(a, b) (b0 cos psi - b1 sin psi, b0 sin psi + b1 cos psi, b2)

where R turns the third direction into (a, b, 1) / |(a, b, 1)| by the shortest way. An axis has the
four unknowns a, b, x, y; T targets at S stations add 3T + S - 1. The rows of the faces follow
(`surface_rows`).
"""

import math
from typing import NamedTuple

import numpy as np

from app.chassis import surface_rows
from app.chassis.observations import Indices, Observations, Spacing
from app.chassis.rotation import rotation, rotation_slopes
from app.chassis.survey import Floats


def residuals(parameters: Floats, observations: Observations) -> Floats:
    """Modelled less observed, each over its standard uncertainty: (rows,)."""
    return _residuals(parameters, observations, _turned(parameters, observations))


def jacobian(parameters: Floats, observations: Observations) -> Floats:
    """Derivatives of `residuals`: (rows, p)."""
    turned = _turned(parameters, observations)
    return _jacobian(parameters, observations, turned, _slots(observations))


class Model:
    """`residuals` and `jacobian` of some observations, for a solver that asks for both in turn.

    The turned bodies of the last parameters are kept, because the derivatives need them again.
    """

    def __init__(self, observations: Observations) -> None:
        self.observations = observations
        self._at: Floats | None = None
        self._turned: _Turned
        self._slots: Indices | None = None

    def residuals(self, parameters: Floats) -> Floats:
        """(rows,): whitened, without unit."""
        self._at, self._turned = parameters, _turned(parameters, self.observations)
        return _residuals(parameters, self.observations, self._turned)

    def jacobian(self, parameters: Floats) -> Floats:
        """(rows, unknowns): their derivatives."""
        if parameters is not self._at:
            self._at, self._turned = parameters, _turned(parameters, self.observations)
        if self._slots is None:
            self._slots = _slots(self.observations)
        return _jacobian(parameters, self.observations, self._turned, self._slots)


def whitened(observations: Observations, vectors: Floats) -> Floats:
    """Vectors (n, 3) of the points, divided by their standard uncertainties: (3 n,)."""
    if observations.whitening.ndim == 2:
        return (vectors * observations.whitening).ravel()
    return np.asarray(observations.whitening @ vectors[:, :, np.newaxis]).ravel()


def rounding_floor(observations: Observations) -> float:
    """How large rounding alone makes a whitened step: smaller ones say nothing."""
    size = whitened(observations, observations.position)
    return 4.0 * float(np.finfo(np.float64).eps) * math.sqrt(float(size @ size))


class _Turned(NamedTuple):
    """body: (n, 6), see `_MOVES`; placed: (3, 4) of each block, the rotation of its axis and where
    it passes; levers: (sides,); arm: of the points of the head's face."""

    body: Floats
    placed: list[Floats]
    levers: Floats | None
    arm: Floats | None


def _turned(parameters: Floats, observations: Observations) -> _Turned:
    known = np.zeros(len(parameters) + 1)
    known[1:] = parameters
    b0, b1, b2, psi = known.take(observations.index)
    turn = np.exp(1j * psi)
    body = np.empty((len(psi), 6))
    pairs = body.view(np.complex128)
    pairs[:, 0], pairs[:, 1] = turn, (b0 + 1j * b1) * turn
    body[:, 4], body[:, 5] = b2, 1.0
    placed = [_placed(*parameters[b.column : b.column + 4].tolist()) for b in observations.blocks]
    sides, head = observations.sides, observations.head
    levers = None if sides is None else surface_rows.levers(sides, placed[0])
    arm = None if head is None else surface_rows.arm(parameters, head)
    return _Turned(body, placed, levers, arm)


def _placed(a: float, b: float, x: float, y: float) -> Floats:
    first, second, third = rotation(a, b)
    return np.array(((*first, x), (*second, y), (*third, 0.0)))


def _residuals(parameters: Floats, observations: Observations, turned: _Turned) -> Floats:
    values = np.empty(observations.rows)
    modelled = np.empty_like(observations.position)
    for block, placed in zip(observations.blocks, turned.placed, strict=True):
        modelled[block.first : block.last] = turned.body[block.first : block.last, 2:] @ placed.T
    values[: modelled.size] = whitened(observations, modelled - observations.position)
    if observations.spacings:
        lengths = _spacing_residuals(parameters, observations.spacings)
        values[modelled.size : observations.axis_rows] = lengths
    if observations.sides is not None and turned.levers is not None:
        sides = surface_rows.side_residuals(
            parameters, observations.sides, turned.placed[0][:, :3], turned.levers
        )
        values[observations.side_rows] = sides
    if observations.head is not None and turned.arm is not None:
        face = surface_rows.head_residuals(
            parameters, observations.head, turned.placed[1][:, :3], turned.arm
        )
        values[observations.head_rows] = face
    return values


def _jacobian(
    parameters: Floats, observations: Observations, turned: _Turned, slots: Indices
) -> Floats:
    count = len(turned.body)
    # The first column takes what belongs to no unknown, and is dropped.
    slopes = np.zeros((observations.rows, observations.unknowns + 1))
    numbers = [
        _numbers(placed, *parameters[block.column : block.column + 2].tolist())
        for block, placed in zip(observations.blocks, turned.placed, strict=True)
    ]
    known = np.array(numbers)
    by_body = known.take(_MOVES, axis=1) * _SENSES
    flat = np.empty((count, 24))
    for block, own in zip(observations.blocks, by_body, strict=True):
        rows = slice(block.first, block.last)
        np.dot(turned.body[rows], own, out=flat[rows])
    moved = flat.reshape(count, 8, 3)
    if observations.whitening.ndim == 2:
        moved *= observations.whitening[:, :, np.newaxis]
    else:
        moved = moved @ observations.whitening.transpose(0, 2, 1)
    slopes.reshape(-1)[slots] = moved
    by_tilt = known[:, _BY_TILT].reshape(-1, 2, 3, 3)
    if observations.spacings:
        part = slopes[3 * count : observations.axis_rows, 1:]
        _fill_spacing_slopes(part, parameters, observations.spacings)
    if observations.sides is not None and turned.levers is not None:
        part = slopes[observations.side_rows, 1:]
        surface_rows.fill_side_slopes(part, observations.sides, turned.levers, by_tilt[0])
    if observations.head is not None and turned.arm is not None:
        part = slopes[observations.head_rows, 1:]
        surface_rows.fill_head_slopes(
            part, parameters, observations.head, turned.placed[1][:, :3], turned.arm, by_tilt[1]
        )
    return slopes[:, 1:]


def _slots(observations: Observations) -> Indices:
    """(n, 8, 3): where the derivatives of each point's coordinates by a, b, x, y, b0, b1, b2 and
    psi stand in a Jacobian that has a column more, the first."""
    count, columns = len(observations.position), observations.unknowns + 1
    of_unknown = np.empty((count, 8), dtype=np.intp)
    for block in observations.blocks:
        of_unknown[block.first : block.last, :4] = range(block.column + 1, block.column + 5)
    of_unknown[:, 4:] = observations.index.T
    rows = np.arange(0, 3 * count * columns, columns).reshape(count, 1, 3)
    return np.asarray(of_unknown[:, :, np.newaxis] + rows)


def _numbers(placed: Floats, a: float, b: float) -> tuple[float, ...]:
    """The rotation of an axis, its derivatives by a and b, zero and one."""
    first, second, third = placed[:, :3].tolist()
    return (*first, *second, *third, *rotation_slopes(a, b), 0.0, 1.0)


def _moves() -> tuple[Indices, Floats]:
    """How a point moves with a, b, x, y, b0, b1, b2 and psi: a linear combination (6, 24) of
    (cos psi, sin psi, p, q, b2, 1), with (p, q) the body turned by psi. Which of the `_numbers`
    its coefficients are, and their signs."""
    axis, by_tilt, zero, one = np.arange(9).reshape(3, 3), np.arange(9, 27), 27, 28
    cosine, sine, p, q, b2, always = range(6)
    moves, senses = np.full((6, 8, 3), zero, dtype=np.intp), np.ones((6, 8, 3))
    moves[p : b2 + 1, :2] = by_tilt.reshape(2, 3, 3).transpose(2, 0, 1)
    moves[always, 2, 0] = moves[always, 3, 1] = one
    moves[cosine, 4] = moves[sine, 5] = moves[q, 7] = axis[:, 0]
    moves[sine, 4] = moves[cosine, 5] = moves[p, 7] = axis[:, 1]
    moves[always, 6] = axis[:, 2]
    senses[sine, 5] = senses[q, 7] = -1.0
    return moves.reshape(6, 24), senses.reshape(6, 24)


def _between(parameters: Floats, spacing: Spacing) -> Floats:
    one = parameters[spacing.one : spacing.one + 3]
    return np.asarray(one - parameters[spacing.other : spacing.other + 3])


def _spacing_residuals(parameters: Floats, spacings: tuple[Spacing, ...]) -> list[float]:
    lengths = [math.sqrt(float(d @ d)) for d in (_between(parameters, s) for s in spacings)]
    return [(length - s.length) / s.u for s, length in zip(spacings, lengths, strict=True)]


def _fill_spacing_slopes(slopes: Floats, parameters: Floats, spacings: tuple[Spacing, ...]) -> None:
    for row, spacing in zip(slopes, spacings, strict=True):
        between = _between(parameters, spacing)
        direction = between / (math.sqrt(between @ between) * spacing.u)
        row[spacing.one : spacing.one + 3] = direction
        row[spacing.other : spacing.other + 3] = -direction


_MOVES, _SENSES = _moves()
_BY_TILT = slice(9, 27)
