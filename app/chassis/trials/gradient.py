"""Half the gradient of chi-square of every trial at once, exactly, by the unknowns of a block.

A point seen from its body is q = Rz(-psi) R' (observed - (x, y, 0)), and pulls with the force
f = metric (body - q). The bodies feel the sum of the forces on them; the stations and the axis
their moments q x f. Moments about the axis and forces along it vanish with the rest at the minimum,
so that the axis is asked only for the other four.

Arrays are kept and written again: in the processor's cache that costs little, fresh ones much.
"""

from dataclasses import dataclass

import numpy as np

from app.chassis.survey import Floats
from app.chassis.trials.block import Turning, turns

Triple = tuple[Floats, Floats, Floats]


@dataclass(frozen=True, slots=True)
class Workspace:
    """For k trials. known: (m + 1, k), the unknowns after a zero; seen: (3, n, k), q, the third
    direction first; force: (6, n, k), f alike, then the moments; sums, turned: (5, s + 1, k), by
    stations; cosine, sine, spare: (n, k); found: (m + 1, k), the gradient after what belongs to no
    unknown."""

    known: Floats
    seen: Floats
    force: Floats
    sums: Floats
    turned: Floats
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
            np.empty((6, points, trials)),
            np.empty((5, stations, trials)),
            np.empty((4, stations, trials)),
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
    if len(block.station):
        np.take(cosine, block.turn, axis=0, out=work.cosine)
        np.take(sine, block.turn, axis=0, out=work.sine)
        _turn_back(x, y, work)
    for rows, points in block.runs:
        for place, own in enumerate(force[:3]):
            np.subtract(known[rows[place - 1]], work.seen[place, points], out=own[points])
    if block.metric.ndim == 3:
        _weigh(block, tilt, work)
    elif not block.alike:
        force[:3] *= block.metric
    _fill_moments(work)
    found = work.found
    found.fill(0.0)
    for place, own in enumerate(block.onto_body @ force[:3]):
        _add(found, block.on_body[place - 1], own)
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


def _turn_back(x: Floats, y: Floats, work: Workspace) -> None:
    """Turn by the stations' angles backward, in place; force serves as a place to reckon."""
    held, spare = work.force[0], work.spare
    np.multiply(x, work.sine, out=held)
    np.multiply(y, work.sine, out=spare)
    x *= work.cosine
    x += spare
    y *= work.cosine
    y -= held


def _weigh(block: Turning, tilt: Triple, work: Workspace) -> None:
    """The metric, which counts in the block's frame, on forces as their bodies see them."""
    half_a, half_b, share = tilt
    z, x, y = work.force[:3]
    if len(block.station):
        x, y = work.cosine * x - work.sine * y, work.sine * x + work.cosine * y
    fall = (share - 1.0) * z - share * (half_a * x + half_b * y)
    there = np.array((x + (fall + z) * half_a, y + (fall + z) * half_b, fall))
    x, y, z = np.einsum("nij,jnk->ink", block.metric, there)
    _to_the_axis(tilt, (x, y, z), work.force[0], work.spare)
    if len(block.station):
        x, y = work.cosine * x + work.sine * y, work.cosine * y - work.sine * x
    work.force[1], work.force[2] = x, y


def _fill_moments(work: Workspace) -> None:
    """q x f into the last three of the force, the third direction last."""
    seen, force, spare = work.seen, work.force, work.spare
    for place, (one, other) in enumerate(((2, 0), (0, 1), (1, 2)), 3):
        np.multiply(seen[one], force[other], out=force[place])
        np.multiply(seen[other], force[one], out=spare)
        force[place] -= spare


def _add(found: Floats, rows: list[int], parts: Floats) -> None:
    """Add the parts (n, k) to the rows that they belong to; row 0 collects what has none."""
    for row, part in zip(rows, parts, strict=True):
        found[row] += part


def _fill_axis(block: Turning, work: Workspace, cosine: Floats, sine: Floats) -> None:
    """Forces and moments of each station onto it and, turned, onto the axis."""
    sums, turned, found = work.sums, work.turned, work.found
    np.matmul(block.onto_station, work.force[1:], out=sums)
    found[block.station + 1] = sums[4, 1:]
    np.multiply(sums[:4], cosine, out=turned)
    to_x, to_y, first, second = turned.sum(axis=1)
    np.multiply(sums[:4], sine, out=turned)
    across_x, across_y, across_first, across_second = turned.sum(axis=1)
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
