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
from numpy.typing import NDArray

from app.chassis import surface_rows
from app.chassis.observations import Observations, Spacing
from app.chassis.rotation import rotation, rotation_slopes
from app.chassis.survey import Floats


def residuals(parameters: Floats, observations: Observations) -> Floats:
    """Modelled less observed, each over its standard uncertainty: (rows,)."""
    return _residuals(parameters, observations, _turned(parameters, observations))


def jacobian(parameters: Floats, observations: Observations) -> Floats:
    """Derivatives of `residuals`: (rows, p)."""
    return _jacobian(parameters, observations, _turned(parameters, observations))


class Model:
    """`residuals` and `jacobian` of some observations, for a solver that asks for both in turn.

    The turned bodies of the last parameters are kept, because the derivatives need them again.
    """

    def __init__(self, observations: Observations) -> None:
        self.observations = observations
        self._at: Floats | None = None
        self._turned: _Turned

    def residuals(self, parameters: Floats) -> Floats:
        """(rows,): whitened, without unit."""
        self._at, self._turned = parameters, _turned(parameters, self.observations)
        return _residuals(parameters, self.observations, self._turned)

    def jacobian(self, parameters: Floats) -> Floats:
        """(rows, unknowns): their derivatives."""
        if parameters is not self._at:
            self._at, self._turned = parameters, _turned(parameters, self.observations)
        return _jacobian(parameters, self.observations, self._turned)


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
    """body: (n, 4) bodies at their stations, and a one to shift them by; turn: (n,) cosine and
    sine of the stations as complex numbers; placed: (3, 4) of each block, the rotation of its axis
    and where it passes; levers: (sides,); arm: of the points of the head's face."""

    body: Floats
    turn: NDArray[np.complex128]
    placed: list[Floats]
    levers: Floats | None
    arm: Floats | None


def _turned(parameters: Floats, observations: Observations) -> _Turned:
    known = np.zeros(len(parameters) + 1)
    known[1:] = parameters
    b0, b1, b2, psi = known.take(observations.index)
    turn = np.exp(1j * psi)
    flat = (b0 + 1j * b1) * turn
    body = np.ones((len(psi), 4))
    body[:, 0], body[:, 1], body[:, 2] = flat.real, flat.imag, b2
    placed = [_placed(*parameters[b.column : b.column + 4].tolist()) for b in observations.blocks]
    sides, head = observations.sides, observations.head
    levers = None if sides is None else surface_rows.levers(sides, placed[0])
    arm = None if head is None else surface_rows.arm(parameters, head)
    return _Turned(body, turn, placed, levers, arm)


def _placed(a: float, b: float, x: float, y: float) -> Floats:
    first, second, third = rotation(a, b)
    return np.array(((*first, x), (*second, y), (*third, 0.0)))


def _residuals(parameters: Floats, observations: Observations, turned: _Turned) -> Floats:
    values = np.empty(observations.rows)
    modelled = np.empty_like(observations.position)
    for block, placed in zip(observations.blocks, turned.placed, strict=True):
        modelled[block.first : block.last] = turned.body[block.first : block.last] @ placed.T
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


def _jacobian(parameters: Floats, observations: Observations, turned: _Turned) -> Floats:
    count = len(turned.body)
    # The first column takes what belongs to no unknown, and is dropped.
    slopes = np.zeros((observations.rows, observations.unknowns + 1))
    points = slopes[: 3 * count].reshape(count, 3, -1)
    moved = _moved(turned)
    for number, block in enumerate(observations.blocks):
        rows, column = slice(block.first, block.last), block.column + 1
        by_tilt = np.array(rotation_slopes(*parameters[block.column : column + 1].tolist()))
        by_tilt = by_tilt.reshape(2, 3, 3)
        moved[rows] = (moved[rows].reshape(-1, 3) @ turned.placed[number][:, :3].T).reshape(
            -1, 4, 3
        )
        tilted = turned.body[rows, :3] @ by_tilt.reshape(6, 3).T
        points[rows, :, column : column + 2] = tilted.reshape(-1, 2, 3).transpose(0, 2, 1)
        points[rows, 0, column + 2] = points[rows, 1, column + 3] = 1.0
        if number == 0 and observations.sides is not None and turned.levers is not None:
            part = slopes[observations.side_rows, 1:]
            surface_rows.fill_side_slopes(part, observations.sides, turned.levers, by_tilt)
        if number == 1 and observations.head is not None and turned.arm is not None:
            part = slopes[observations.head_rows, 1:]
            surface_rows.fill_head_slopes(
                part, parameters, observations.head, turned.placed[1][:, :3], turned.arm, by_tilt
            )
    points[np.arange(count)[:, np.newaxis], :, observations.index.T] = moved
    if observations.whitening.ndim == 2:
        points *= observations.whitening[:, :, np.newaxis]
    else:
        points[:] = observations.whitening @ points
    if observations.spacings:
        part = slopes[3 * count : observations.axis_rows, 1:]
        _fill_spacing_slopes(part, parameters, observations.spacings)
    return slopes[:, 1:]


def _moved(turned: _Turned) -> Floats:
    """(n, 4, 3): how the bodies move with b0, b1, b2 and psi, before their axis is turned."""
    cosine, sine = turned.turn.real, turned.turn.imag
    moved = np.zeros((len(cosine), 4, 3))
    moved[:, 0, 0] = moved[:, 1, 1] = cosine
    moved[:, 0, 1], moved[:, 1, 0] = sine, -sine
    moved[:, 2, 2] = 1.0
    moved[:, 3, 0], moved[:, 3, 1] = -turned.body[:, 1], turned.body[:, 0]
    return moved


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
