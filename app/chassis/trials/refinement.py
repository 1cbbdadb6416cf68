"""Damped steps with a normal matrix of each trial's own, for the few that need them.

Method: Levenberg and Marquardt, as in `metrology.estimation`, for many trials at once.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from app.chassis.survey import Floats
from app.chassis.trials.block import Turning, turns

Marks = NDArray[np.bool_]

SETTLED_MM = 1e-8
MOST_STEPS = 400
AT_ONCE = 500
FIRST_DAMPING, LEAST_DAMPING, MOST_DAMPING = 1e-3, 1e-9, 1e12
DAMPING_FACTOR = 6.0
SLACK = 1e-13


class Refined(NamedTuple):
    unknowns: Floats
    found: Marks


def refined(block: Turning, unknowns: Floats, observed: Floats, lengths: Floats) -> Refined:
    """Solve trials (m, k) from where they stand, or from the estimate where that is nearer."""
    values, found = unknowns.copy(), np.zeros(unknowns.shape[1], dtype=bool)
    for begin in range(0, len(found), AT_ONCE):
        own = slice(begin, begin + AT_ONCE)
        values[:, own], found[own] = _damped(
            block, unknowns[:, own], observed[:, :, own], lengths[:, own]
        )
    return Refined(values, found)


def _damped(
    block: Turning, unknowns: Floats, observed: Floats, lengths: Floats
) -> tuple[Floats, Marks]:
    now = _nearer(block, unknowns, observed, lengths)
    found = np.zeros(now.shape[1], dtype=bool)
    left = np.arange(now.shape[1])
    at = now
    residuals, slopes = model(block, at, observed, lengths)
    damping = np.full(len(left), FIRST_DAMPING)
    for _ in range(MOST_STEPS):
        normal = slopes.transpose(0, 2, 1) @ slopes
        downhill = (slopes.transpose(0, 2, 1) @ residuals[:, :, np.newaxis])[:, :, 0]
        diagonal = np.einsum("kii->ki", normal)
        diagonal += diagonal * damping[:, np.newaxis]
        step = _solve(normal, downhill).T
        there = at - step
        other, other_slopes = model(block, there, observed, lengths)
        better = np.asarray(_square(other) <= _square(residuals) * (1.0 + SLACK), dtype=np.bool_)
        size = np.abs(step * block.scale).max(axis=0)
        at = np.where(better, there, at)
        residuals = np.where(better[:, np.newaxis], other, residuals)
        slopes = np.where(better[:, np.newaxis, np.newaxis], other_slopes, slopes)
        damping = np.where(better, damping / DAMPING_FACTOR, damping * DAMPING_FACTOR)
        damping = np.maximum(damping, LEAST_DAMPING)
        done: Marks = (size <= SETTLED_MM) & (better | (damping <= FIRST_DAMPING))
        now[:, left] = at
        found[left[done]] = True
        keep: Marks = ~done & (damping < MOST_DAMPING)
        if not keep.any():
            break
        left, at, damping = left[keep], at[:, keep], damping[keep]
        residuals, slopes = residuals[keep], slopes[keep]
        observed, lengths = observed[:, :, keep], lengths[:, keep]
    return now, found


def _solve(normal: Floats, downhill: Floats) -> Floats:
    """(k, m) steps; none where a normal matrix has no inverse."""
    sums = normal.sum(axis=(1, 2)) + downhill.sum(axis=1)
    usable: Marks = np.asarray(np.isfinite(sums), dtype=np.bool_)
    normal = np.where(usable[:, np.newaxis, np.newaxis], normal, np.eye(normal.shape[1]))
    downhill = np.where(usable[:, np.newaxis], downhill, 0.0)
    try:
        return np.asarray(np.linalg.solve(normal, downhill[:, :, np.newaxis])[:, :, 0])
    except np.linalg.LinAlgError:
        return np.zeros_like(downhill)


def _nearer(block: Turning, unknowns: Floats, observed: Floats, lengths: Floats) -> Floats:
    """(m, k): where each trial stands, or the estimate where that leaves it less."""
    start = np.repeat(block.start, unknowns.shape[1], axis=1)
    here = _square(model(block, unknowns, observed, lengths)[0])
    there = _square(model(block, start, observed, lengths)[0])
    return np.where(here < there, unknowns, start)


def _square(residuals: Floats) -> Floats:
    return np.asarray((residuals * residuals).sum(axis=1))


def model(
    block: Turning, unknowns: Floats, observed: Floats, lengths: Floats
) -> tuple[Floats, Floats]:
    """Whitened residuals (k, rows), modelled less observed, and their derivatives (k, rows, m)."""
    trials, points = unknowns.shape[1], len(block.turn)
    known = np.zeros((len(unknowns) + 1, trials))
    known[1:] = unknowns
    half = unknowns[block.station] / 2.0
    cosine, sine = turns(block, half, np.empty((2, len(half) + 1, trials)))
    c, s = cosine[block.turn], sine[block.turn]
    b0, b1, b2 = known[block.unknown]
    p, q = c * b0 - s * b1, s * b0 + c * b1
    axis, by_a, by_b = _axis(known[1], known[2])
    body = np.array((p, q, b2))
    placed = np.einsum("ijk,jnk->ink", axis, body)
    placed[0] += known[3]
    placed[1] += known[4]
    whiten = _whitening(block)
    left = np.einsum("nij,jnk->kni", whiten, placed - observed).reshape(trials, -1)
    moved = np.zeros((len(known), 3, points, trials))
    moved[1] = np.einsum("ijk,jnk->ink", by_a, body)
    moved[2] = np.einsum("ijk,jnk->ink", by_b, body)
    moved[3, 0] = moved[4, 1] = 1.0
    by_turn = np.concatenate(((0,), block.station + 1))[block.turn]
    turned = (c, s, 0.0), (-s, c, 0.0), (0.0, 0.0, 1.0), (-q, p, 0.0)
    for rows, by in zip((*block.unknown, by_turn), turned, strict=True):
        change = np.array(np.broadcast_arrays(*by, b2)[:3])
        place = np.einsum("ijk,jnk->nik", axis, change)
        moved[rows, :, np.arange(points)] += place
    slopes = np.einsum("nij,ujnk->kniu", whiten, moved[1:]).reshape(trials, 3 * points, -1)
    return _with_spacings(block, known, lengths, left, slopes)


def _axis(a: Floats, b: Floats) -> tuple[Floats, Floats, Floats]:
    """(3, 3, k): the turn of the axis, and its derivatives by a and by b."""
    a, b = a / 2.0, b / 2.0
    share = 1.0 / (1.0 + a * a + b * b)
    none = np.zeros_like(a)
    x, y = 2.0 * a * share, 2.0 * b * share
    axis = np.array(
        (
            (1.0 - a * x, -a * y, x),
            (-a * y, 1.0 - b * y, y),
            (-x, -y, 1.0 - a * x - b * y),
        )
    )
    found = []
    for first, second in ((1.0, 0.0), (0.0, 1.0)):
        # Derivatives of x and y by 2a' or 2b'; the unknown is twice the stereographic one.
        fall = -share * (x if first else y)
        dx, dy = first * share + a * fall, second * share + b * fall
        da, db = first / 2.0, second / 2.0
        cross = -(da * y + a * dy)
        found.append(
            np.array(
                (
                    (-(da * x + a * dx), cross, dx),
                    (cross, -(db * y + b * dy), dy),
                    (-dx, -dy, -(da * x + a * dx + db * y + b * dy)),
                )
            )
            + none
        )
    return axis, found[0], found[1]


def _whitening(block: Turning) -> Floats:
    if block.spread.ndim == 2:
        return np.asarray(np.eye(3) / block.spread[:, :, np.newaxis])
    return np.asarray(np.linalg.inv(block.spread))


def _with_spacings(
    block: Turning, known: Floats, lengths: Floats, left: Floats, slopes: Floats
) -> tuple[Floats, Floats]:
    for spacing, length in zip(block.spacings, lengths, strict=True):
        one, other = spacing.one + 1, spacing.other + 1
        between = known[one : one + 3] - known[other : other + 3]
        size = np.sqrt((between * between).sum(axis=0))
        row = np.zeros((len(length), 1, slopes.shape[2]))
        direction = (between / (size * spacing.u)).T
        row[:, 0, one - 1 : one + 2] = direction
        row[:, 0, other - 1 : other + 2] = -direction
        left = np.concatenate((left, ((size - length) / spacing.u)[:, np.newaxis]), axis=1)
        slopes = np.concatenate((slopes, row), axis=1)
    return left, slopes
