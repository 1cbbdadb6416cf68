"""Half the gradient of chi-square of every trial at once, exactly, by the unknowns of a block.

A point seen from its body is q = Rz(-psi) R' (observed - (x, y, 0)), and pulls with the force
f = metric (body - q). The bodies feel the sum of the forces on them; the stations and the axis
their moments. Moments about the axis and forces along it vanish with the rest at the minimum, so
that the axis is asked only for the other four.
"""

import numpy as np

from app.chassis.survey import Floats
from app.chassis.trials.block import Turning, turns


def gradient(block: Turning, unknowns: Floats, observed: Floats, lengths: Floats) -> Floats:
    """(m, k), zero where the trial's least-squares problem is solved.

    unknowns: (m, k) of k trials; observed: (3, n, k), mm; lengths: (spacings, k), mm.
    """
    known = np.zeros((len(unknowns) + 1, unknowns.shape[1]))
    known[1:] = unknowns
    cosine, sine = turns(block, unknowns[block.station] / 2.0)
    seen = _from_the_axis(known, observed)
    if len(block.station):
        _turn(seen, cosine[block.turn], -sine[block.turn])
    force = known[block.unknown[0]], known[block.unknown[1]], known[block.unknown[2]]
    for own, place in zip(force, seen, strict=True):
        own -= place
    if block.metric.ndim == 2:
        for own in force:
            own *= block.metric
    else:
        force = _weighted(block, known, force, cosine[block.turn], sine[block.turn])
    found = np.zeros_like(known)
    for row, own in zip(block.unknown, force, strict=True):
        _add(found, row, own)
    _add_moments(block, found, seen, force, cosine, sine)
    _add_spacings(block, found, known, lengths)
    return found[1:]


def _from_the_axis(known: Floats, observed: Floats) -> tuple[Floats, Floats, Floats]:
    """R' (observed - (x, y, 0)), as new arrays (n, k)."""
    half_a, half_b = known[1] / 2.0, known[2] / 2.0
    share = 2.0 / (1.0 + half_a * half_a + half_b * half_b)
    a, b = half_a * share, half_b * share
    x, y = observed[0] - known[3], observed[1] - known[4]
    z = observed[2]
    along = x * a
    along += y * b
    along += z * (share - 1.0)
    both = along + z
    x -= both * half_a
    y -= both * half_b
    return x, y, along


def _turn(vectors: tuple[Floats, Floats, Floats], cosine: Floats, sine: Floats) -> None:
    """Turn vectors about the third direction, in place."""
    x, y, _ = vectors
    was = x.copy()
    x *= cosine
    x -= y * sine
    y *= cosine
    y += was * sine


def _weighted(
    block: Turning,
    known: Floats,
    force: tuple[Floats, Floats, Floats],
    cosine: Floats,
    sine: Floats,
) -> tuple[Floats, Floats, Floats]:
    """The metric of the block's frame on vectors as their bodies see them."""
    _turn(force, cosine, sine)
    out = np.einsum("nij,jnk->ink", block.metric, np.array(_to_the_block(known, force)))
    none = known.copy()
    none[3:5] = 0.0
    back = _from_the_axis(none, out)
    _turn(back, cosine, -sine)
    return back


def _to_the_block(
    known: Floats, vectors: tuple[Floats, Floats, Floats]
) -> tuple[Floats, Floats, Floats]:
    """R on vectors as the axis sees them."""
    half_a, half_b = known[1] / 2.0, known[2] / 2.0
    share = 2.0 / (1.0 + half_a * half_a + half_b * half_b)
    a, b = half_a * share, half_b * share
    x, y, z = vectors
    along = (share - 1.0) * z - a * x - b * y
    both = along + z
    return x + both * half_a, y + both * half_b, along


def _add(found: Floats, rows: np.typing.NDArray[np.intp], parts: Floats) -> None:
    """Add the parts (n, k) to the rows that they belong to; row 0 collects what has none."""
    for row, part in zip(rows.tolist(), parts, strict=True):
        found[row] += part


def _add_moments(
    block: Turning,
    found: Floats,
    seen: tuple[Floats, Floats, Floats],
    force: tuple[Floats, Floats, Floats],
    cosine: Floats,
    sine: Floats,
) -> None:
    x, y, z = seen
    along, across, up = force
    moments = (
        y * up - z * across,
        z * along - x * up,
        x * across - y * along,
        along,
        across,
    )
    sums = np.zeros((5, *cosine.shape))
    for total, parts in zip(sums, moments, strict=True):
        _add(total, block.turn, parts)
    first, second, third, to_x, to_y = sums
    found[block.station + 1] += third[1:]
    found[1] += (sine * first + cosine * second).sum(axis=0)
    found[2] -= (cosine * first - sine * second).sum(axis=0)
    found[3] += (cosine * to_x - sine * to_y).sum(axis=0)
    found[4] += (sine * to_x + cosine * to_y).sum(axis=0)


def _add_spacings(block: Turning, found: Floats, known: Floats, lengths: Floats) -> None:
    for spacing, length in zip(block.spacings, lengths, strict=True):
        one = slice(spacing.one + 1, spacing.one + 4)
        other = slice(spacing.other + 1, spacing.other + 4)
        between = known[one] - known[other]
        size = np.sqrt((between * between).sum(axis=0))
        between *= (size - length) / (size * spacing.u**2)
        found[one] += between
        found[other] -= between
