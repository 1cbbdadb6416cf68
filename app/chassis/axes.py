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

import numpy as np

from app.chassis import surface_rows
from app.chassis.observations import Observations, Spacing
from app.chassis.rotation import rotation, rotation_slopes
from app.chassis.survey import Floats


def residuals(parameters: Floats, observations: Observations) -> Floats:
    """Observed less modelled, each over its standard uncertainty: (rows,)."""
    return _residuals(parameters, observations, _turned(parameters, observations)[0])


def jacobian(parameters: Floats, observations: Observations) -> Floats:
    """Derivatives of `residuals`: (rows, p)."""
    return _jacobian(parameters, observations, *_turned(parameters, observations))


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


def whiten(whitening: Floats, vectors: Floats) -> Floats:
    """Vectors (n, 3) or (n, 3, m) divided by the standard uncertainty of their points."""
    if whitening.ndim == 2:
        return vectors * (whitening if vectors.ndim == 2 else whitening[:, :, np.newaxis])
    if vectors.ndim == 2:
        return np.asarray((whitening @ vectors[:, :, np.newaxis])[:, :, 0])
    return np.asarray(whitening @ vectors)


def rounding_floor(observations: Observations) -> float:
    """How large rounding alone makes a whitened step: smaller ones say nothing."""
    whitened = whiten(observations.whitening, observations.position)
    return 4.0 * float(np.finfo(np.float64).eps) * math.sqrt(float(np.vdot(whitened, whitened)))


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
    rows = [whiten(observations.whitening, difference).ravel()]
    if observations.spacings:
        rows.append(_spacing_residuals(parameters, observations.spacings))
    if observations.sides is not None:
        rows.append(surface_rows.side_residuals(parameters, observations.sides))
    if observations.head is not None:
        rows.append(surface_rows.head_residuals(parameters, observations.head))
    return np.concatenate(rows)


def _jacobian(parameters: Floats, observations: Observations, body: Floats, turn: Floats) -> Floats:
    unknowns = observations.unknowns
    rows = [_point_slopes(parameters, observations, body, turn)]
    if observations.spacings:
        rows.append(_spacing_slopes(parameters, observations))
    if observations.sides is not None:
        rows.append(surface_rows.side_slopes(parameters, observations.sides, unknowns))
    if observations.head is not None:
        rows.append(surface_rows.head_slopes(parameters, observations.head, unknowns))
    return np.concatenate(rows)


def _point_slopes(
    parameters: Floats, observations: Observations, body: Floats, turn: Floats
) -> Floats:
    """(3 n, p)."""
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
    whitened = whiten(observations.whitening, slopes)[:, :, 1:].reshape(3 * count, -1)
    return np.negative(whitened, out=whitened)


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
