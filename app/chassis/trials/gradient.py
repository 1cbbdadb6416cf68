"""Half the gradient of chi-square of every trial at once, exactly, by the unknowns of a block.

A point seen from its body is q = Rz(-psi) R' (observed - (x, y, 0)), and pulls with the force
f = metric (body - q). The bodies feel the sum of the forces on them; the stations and the axis
their moments body x f, which are q x f where f points from q to the body. Moments about the axis
and forces along it vanish with the rest at the minimum, so that the axis is asked only for the
other four.

Arrays are kept and written again: in the processor's cache that costs little, fresh ones much.
"""

from dataclasses import dataclass

import numpy as np

from app.chassis.survey import Floats
from app.chassis.trials.block import Turning, turns

Triple = tuple[Floats, Floats, Floats]
Pair = tuple[Floats, Floats]


@dataclass(frozen=True, slots=True)
class Workspace:
    """For k trials. known: (m + 1, k), the unknowns after a zero; seen: (3, n, k), q, the third
    direction first; force: (3, n, k), f alike; moment: (n, k), a part of q x f; sums: (5, s + 1,
    k), of forces and moments by stations; cosine, sine, spare: (n, k);
    found: (m + 1, k), the gradient after what belongs to no unknown."""

    known: Floats
    seen: Floats
    force: Floats
    moment: Floats
    sums: Floats
    cosine: Floats
    sine: Floats
    spare: Floats
    found: Floats

    @classmethod
    def of(cls, block: Turning, trials: int) -> "Workspace":
        points, stations = len(block.turn), len(block.station) + 1
        return cls(
            np.zeros((len(block.start) + 1, trials)),
            np.empty((3, points, trials)),
            np.empty((3, points, trials)),
            np.empty((points, trials)),
            np.empty((5, stations, trials)),
            np.empty((points, trials)),
            np.empty((points, trials)),
            np.empty((points, trials)),
            np.empty((len(block.start) + 1, trials)),
        )


def gradient(
    block: Turning,
    unknowns: Floats,
    observed: Floats,
    lengths: Floats,
    work: Workspace | None = None,
) -> Floats:
    """(m, k), zero where the trial's least-squares problem is solved; written over by the next
    call in the same workspace.

    unknowns: (m, k) of k trials; observed: (3, n, k), mm; lengths: (spacings, k), mm.
    """
    work = work or Workspace.of(block, unknowns.shape[1])
    known, force = work.known, work.force
    known[1:] = unknowns
    cosine, sine = turns(block, unknowns[block.station] * 0.5)
    z, x, y = work.seen
    np.subtract(observed[0], known[3], out=x)
    np.subtract(observed[1], known[4], out=y)
    tilt = _tilt(known)
    _to_the_axis(tilt, (x, y, observed[2]), z, work.spare)
    across = cosine, sine
    if len(block.station):
        across = _by_points(block, work, cosine, sine)
        _turn_back(x, y, across, force[0], work.spare)
    for rows, points in block.runs:
        for place, own in enumerate(force):
            np.subtract(known[rows[place - 1]], work.seen[place, points], out=own[points])
    if block.metric.ndim == 3:
        _weigh(block, tilt, across, work)
    elif not block.alike:
        force *= block.metric
    found = work.found
    found.fill(0.0)
    for place, own in enumerate(block.onto_body @ force):
        _add(found, block.on_body[place - 1], own)
    np.matmul(block.onto_station, force[1:3], out=work.sums[:2])
    _fill_moments(block, work)
    _fill_axis(block, work, cosine, sine)
    if block.alike:
        found *= block.metric[0, 0]
    _add_spacings(block, found, known, lengths)
    return found[1:]


def _tilt(known: Floats) -> Triple:
    """Half tangents of the tilt, and what makes the axis of them (`block`)."""
    half_a, half_b = known[1] * 0.5, known[2] * 0.5
    return half_a, half_b, 2.0 / (1.0 + half_a * half_a + half_b * half_b)


def _to_the_axis(tilt: Triple, vectors: Triple, along: Floats, spare: Floats) -> None:
    """R' on vectors: the first two in place, the third into `along`."""
    half_a, half_b, share = tilt
    x, y, z = vectors
    np.multiply(x, half_a * share, out=along)
    np.multiply(y, half_b * share, out=spare)
    along += spare
    np.multiply(z, share - 1.0, out=spare)
    along += spare
    both = spare
    for own, half in ((x, half_a), (y, half_b)):
        np.add(along, z, out=both)
        both *= half
        own -= both


def _by_points(block: Turning, work: Workspace, cosine: Floats, sine: Floats) -> Pair:
    """Cosine and sine of each point's station, in a shape that the points can take."""
    if block.grid:
        return cosine, sine
    # Without "clip" the places would be checked, and all copied once more.
    np.take(cosine, block.turn, axis=0, out=work.cosine, mode="clip")
    np.take(sine, block.turn, axis=0, out=work.sine, mode="clip")
    return work.cosine, work.sine


def _turn_back(x: Floats, y: Floats, across: Pair, held: Floats, spare: Floats) -> None:
    """Turn by the stations' angles backward, in place; held, spare: (n, k) to reckon in."""
    cosine, sine = across
    by_body = (-1, *cosine.shape)
    x, y = x.reshape(by_body), y.reshape(by_body)
    held, spare = held.reshape(by_body), spare.reshape(by_body)
    np.multiply(x, sine, out=held)
    np.multiply(y, sine, out=spare)
    x *= cosine
    x += spare
    y *= cosine
    y -= held


def _weigh(block: Turning, tilt: Triple, across: Pair, work: Workspace) -> None:
    """The metric, which counts in the block's frame, on forces as their bodies see them; these
    then no longer point to the bodies, which the moments need instead of the points."""
    half_a, half_b, share = tilt
    np.add(work.seen, work.force, out=work.seen)
    z, x, y = work.force
    if len(block.station):
        _turn_back(x, y, (across[0], -across[1]), work.moment, work.spare)
    fall = (share - 1.0) * z - share * (half_a * x + half_b * y)
    there = np.array((x + (fall + z) * half_a, y + (fall + z) * half_b, fall))
    x[:], y[:], up = np.einsum("nij,jnk->ink", block.metric, there)
    _to_the_axis(tilt, (x, y, up), z, work.spare)
    if len(block.station):
        _turn_back(x, y, across, work.moment, work.spare)


def _fill_moments(block: Turning, work: Workspace) -> None:
    """q x f, summed over the points of each station, into the last of the sums."""
    seen, force, spare, moment = work.seen, work.force, work.spare, work.moment
    for place, (one, other) in enumerate(((2, 0), (0, 1), (1, 2)), 2):
        np.multiply(seen[one], force[other], out=moment)
        np.multiply(seen[other], force[one], out=spare)
        moment -= spare
        np.matmul(block.onto_station, moment, out=work.sums[place])


def _add(found: Floats, rows: list[int], parts: Floats) -> None:
    """Add the parts (n, k) to the rows that they belong to; row 0 collects what has none."""
    for row, part in zip(rows, parts, strict=True):
        found[row] += part


def _fill_axis(block: Turning, work: Workspace, cosine: Floats, sine: Floats) -> None:
    """Forces and moments of each station onto it and, turned, onto the axis."""
    sums, found = work.sums, work.found
    found[block.station + 1] = sums[4, 1:]
    to_x, to_y, first, second = np.einsum("isk,sk->ik", sums[:4], cosine)
    across_x, across_y, across_first, across_second = np.einsum("isk,sk->ik", sums[:4], sine)
    np.add(across_first, second, out=found[1])
    np.subtract(across_second, first, out=found[2])
    np.subtract(to_x, across_y, out=found[3])
    np.add(across_x, to_y, out=found[4])


def _add_spacings(block: Turning, found: Floats, known: Floats, lengths: Floats) -> None:
    for spacing, length in zip(block.spacings, lengths, strict=True):
        one = slice(spacing.one + 1, spacing.one + 4)
        other = slice(spacing.other + 1, spacing.other + 4)
        between = known[one] - known[other]
        size = np.sqrt((between * between).sum(axis=0))
        between *= (size - length) / (size * spacing.u**2)
        found[one] += between
        found[other] -= between
