"""One axis with everything on and round it, about the estimate, in coordinates of its own.

The frame of a block is turned and moved so that the estimated axis is its third direction through
its origin. What a trial changes is told from there, without a sine:

    axis       shortest turn of the third direction to (2a', 2b', 1 - m) / (1 + m), with
               a' = a / 2, b' = b / 2, m = a'² + b'² (stereographic), then moved by (x, y, 0)
    body       (b0, b1, b2) of a target; (0, 0, b2) of a point on the axis
    station    its estimated angle, then a turn of cosine (1 - t²) / (1 + t²), with t = psi / 2
               (the tangent of half the angle)

Which parameters tell the axis is free: bodies and angles take up any turn about it, so that this
minimum is that of `app.chassis.axes`. Where a survey states the distance between two targets, that
is one row more.
"""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from app.chassis.estimate import Axis, axis
from app.chassis.observations import Block, Observations, Spacing
from app.chassis.rotation import rotation
from app.chassis.survey import Floats
from app.metrology.estimation import covariance_of

Places = NDArray[np.intp]

AXIS = 4
"""Unknowns of an axis: a, b (rad), x, y (mm); the first of each block."""
LEVER_MM = 500.0
"""What a tilt is counted by when it is held against a millimetre: the size of a chassis."""


class Turning(NamedTuple):
    """Points of one axis. n points, m unknowns, s stations that turn.

    Points stand by their bodies, those of one body by their stations; the rows of deviates stand
    as in the estimate.

    frame, origin: of the block in the survey's coordinates. place: (3, n, 1) observed, mm. order:
    which point of the rows each is. spread: (n, 1) u in mm, or (n, 3, 3) what makes a displacement
    of whitened deviates. metric: (n, 1) or (n, 3, 3), inverse covariance, mm⁻². unknown: (3, n),
    row of b0, b1, b2 among the unknowns counted from 1, 0 is zero. turn: (n,) row of its station,
    0 does not turn. start: (m, 1). station: (s,) unknown of each. cosine, sine: (s, 1) at the
    estimate. gain: (m, rows) unknowns by whitened deviates of the rows. inverse: (m, m) of the
    normal matrix. scale: (m, 1) what makes millimetres of an unknown. spacings: with columns among
    the unknowns. on_body: of each body, counted from 1, the first row and the one behind the last.
    onto_body: (bodies, n), onto_station: (s + 1, n) ones for the points of each. runs: rows of a
    body, and the points in a row that lie on it. alike: whether all points have the same u. grid:
    whether each body was seen once at every station.
    """

    frame: Floats
    origin: Floats
    place: Floats
    order: list[int]
    spread: Floats
    metric: Floats
    unknown: Places
    turn: Places
    start: Floats
    station: Places
    cosine: Floats
    sine: Floats
    gain: Floats
    inverse: Floats
    scale: Floats
    spacings: tuple[Spacing, ...]
    on_body: list[tuple[int, int]]
    onto_body: Floats
    onto_station: Floats
    runs: list[tuple[list[int], slice]]
    alike: bool
    grid: bool

    @property
    def rows(self) -> int:
        return 3 * len(self.turn) + len(self.spacings)


def turning(
    observations: Observations, number: int, parameters: Floats, frame: Floats, origin: Floats
) -> Turning:
    """The block of that number about the estimate; frame, origin: of the survey's start."""
    block = observations.blocks[number]
    found: Axis = axis(parameters, block.column, frame, _vector(origin))
    turned = np.array(rotation(*parameters[block.column : block.column + 2].tolist()))
    x, y = parameters[block.column + 2 : block.column + 4].tolist()
    columns, unknown = _renumbered(observations, block)
    order = np.lexsort(unknown[::-1])
    unknown = unknown[:, order]
    place = (observations.position[block.first : block.last][order] - (x, y, 0.0)) @ turned
    whitening = observations.whitening[block.first : block.last][order]
    spread, metric, whiten = _weights(whitening, turned)
    stations = sorted(set(unknown[3].tolist()) - {0})
    angles = parameters[columns[np.array(stations, dtype=np.intp) - 1]]
    start = parameters[columns].copy()
    start[:AXIS] = 0.0
    start[[row - 1 for row in stations]] = 0.0
    place_of = {row: count for count, row in enumerate(stations, 1)} | {0: 0}
    turn = np.array([place_of[row] for row in unknown[3].tolist()], dtype=np.intp)
    bodies = np.unique(unknown[:3].T, axis=0)
    made = Turning(
        frame @ turned,
        np.array(found.point),
        place.T[:, :, np.newaxis].copy(),
        order.tolist(),
        spread,
        metric,
        unknown[:3],
        turn,
        start[:, np.newaxis],
        np.array([row - 1 for row in stations], dtype=np.intp),
        np.cos(angles)[:, np.newaxis],
        np.sin(angles)[:, np.newaxis],
        np.empty((0, 0)),
        np.empty((0, 0)),
        np.empty((0, 0)),
        _spacings(observations, number, columns),
        [(max(1, last - 2 if first else last), last + 1) for first, _, last in bodies.tolist()],
        (unknown[:3, np.newaxis] == bodies.T[:, :, np.newaxis]).all(axis=0).astype(np.float64),
        (turn == np.arange(len(stations) + 1)[:, np.newaxis]).astype(np.float64),
        _runs(unknown[:3].T.tolist()),
        metric.ndim == 2 and bool((metric == metric[0]).all()),
        turn.tolist() == [*range(len(stations) + 1)] * len(bodies),
    )
    slopes = _slopes(made, whiten)
    inverse = covariance_of(slopes)
    gain = inverse @ slopes.T
    points = gain[:, : 3 * len(turn)].reshape(-1, len(turn), 3)
    points[:, order] = points.copy()
    return made._replace(gain=gain, inverse=inverse, scale=_scale(made))


def _vector(values: Floats) -> tuple[float, float, float]:
    x, y, z = values.tolist()
    return (x, y, z)


def _renumbered(observations: Observations, block: Block) -> tuple[Places, Places]:
    """The block's columns among all, and where its points' unknowns stand among these, from 1."""
    index = observations.index[:, block.first : block.last]
    own = np.arange(block.column, block.column + AXIS) + 1
    used = np.union1d(own, index[index > 0])
    place = np.zeros(observations.axis_unknowns + 1, dtype=np.intp)
    place[used] = np.arange(1, len(used) + 1)
    return used - 1, place[index]


def _weights(whitening: Floats, turned: Floats) -> tuple[Floats, Floats, Floats]:
    """spread, metric, and (n, 3, 3) what whitens, in the frame of the estimate."""
    if whitening.ndim == 2:
        full = whitening[:, :, np.newaxis] * np.eye(3)
        return 1.0 / whitening, whitening**2, full
    full = whitening @ turned
    return np.asarray(np.linalg.inv(full)), full.transpose(0, 2, 1) @ full, full


def _runs(bodies: list[list[int]]) -> list[tuple[list[int], slice]]:
    """Points in a row that lie on one body."""
    found: list[tuple[list[int], slice]] = []
    for place, rows in enumerate(bodies):
        if found and found[-1][0] == rows:
            found[-1] = (rows, slice(found[-1][1].start, place + 1))
        else:
            found.append((rows, slice(place, place + 1)))
    return found


def _spacings(observations: Observations, number: int, columns: Places) -> tuple[Spacing, ...]:
    if number == 0:
        return ()
    place = {column: row for row, column in enumerate(columns.tolist())}
    return tuple(
        Spacing(place[s.one], place[s.other], s.length, s.u) for s in observations.spacings
    )


def _slopes(block: Turning, whiten: Floats) -> Floats:
    """(rows, m): derivatives of the whitened residuals at the estimate."""
    count, unknowns = len(block.turn), len(block.start)
    slopes = np.zeros((count, 3, unknowns + 1))
    stations = len(block.station)
    cosine, sine = turns(block, np.zeros((stations, 1)), np.empty((2, stations + 1, 1)))
    known = np.concatenate((np.zeros((1, 1)), block.start))
    body = known[block.unknown][:, :, 0]
    of_station = np.concatenate(((0,), block.station + 1))[block.turn]
    each = zip(block.turn.tolist(), of_station.tolist(), strict=True)
    for row, (turn, column) in enumerate(each):
        c, s = float(cosine[turn, 0]), float(sine[turn, 0])
        b0, b1, b2 = body[:, row].tolist()
        p, q = c * b0 - s * b1, s * b0 + c * b1
        slopes[row, :, 1:5] = ((b2, 0.0, 1.0, 0.0), (0.0, b2, 0.0, 1.0), (-p, -q, 0.0, 0.0))
        for column_of, by in zip(
            (*block.unknown[:, row].tolist(), column),
            ((c, s, 0.0), (-s, c, 0.0), (0.0, 0.0, 1.0), (-q, p, 0.0)),
            strict=True,
        ):
            slopes[row, :, column_of] = by
    rows = (whiten @ slopes[:, :, 1:]).reshape(3 * count, unknowns)
    return np.concatenate((rows, *_spacing_slopes(block)))


def _spacing_slopes(block: Turning) -> Sequence[Floats]:
    found = []
    for spacing in block.spacings:
        row = np.zeros((1, len(block.start)))
        one, other = slice(spacing.one, spacing.one + 3), slice(spacing.other, spacing.other + 3)
        between = block.start[one, 0] - block.start[other, 0]
        direction = between / (np.sqrt(between @ between) * spacing.u)
        row[0, one], row[0, other] = direction, -direction
        found.append(row)
    return found


def turns(block: Turning, half: Floats, out: Floats) -> tuple[Floats, Floats]:
    """Cosine and sine (s + 1, k) of the stations, the first not turned; half: (s, k), t; out: (2,
    s + 1, k)."""
    cosine, sine = out
    cosine[0], sine[0] = 1.0, 0.0
    turned = half * half
    turned += 1.0
    np.divide(2.0, turned, out=turned)
    across = half * turned
    turned -= 1.0
    np.multiply(block.cosine, turned, out=cosine[1:])
    np.multiply(block.sine, turned, out=sine[1:])
    sine[1:] += block.cosine * across
    across *= block.sine
    cosine[1:] -= across
    return cosine, sine


def _scale(block: Turning) -> Floats:
    scale = np.ones_like(block.start)
    scale[:2] = LEVER_MM
    known = np.concatenate((np.zeros((1, 1)), block.start))
    body = known[block.unknown][:, :, 0]
    scale[block.station] = np.sqrt((body[:2] ** 2).sum(axis=0)).max(initial=1.0)
    return scale
