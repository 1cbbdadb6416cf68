"""Half the gradient of chi-square of every trial at once, exactly, by the unknowns of a block.

A point seen from its body is q = Rz(-psi) R' (observed - (x, y, 0)), and pulls with the force
f = metric (body - q). The bodies feel the sum of the forces on them; the stations and the axis
their moments body x f, which are q x f where f points from q to the body. Moments about the axis
and forces along it vanish with the rest at the minimum, so that the axis is asked only for the
other four.

Where all points have the same u and every body was seen at every station, sums suffice: no point
needs a force, or a place in the frame of its body (`_fill_from_sums`).

Arrays are kept and written again: in the processor's cache that costs little, fresh ones much.
"""

from dataclasses import dataclass

import numpy as np

from app.chassis.survey import Floats
from app.chassis.trials.block import Turning, turns

Triple = tuple[Floats, Floats, Floats]
Pair = tuple[Floats, Floats]
AROUND = ((1, 2), (2, 0), (0, 1))


@dataclass(frozen=True, slots=True)
class Workspace:
    """For k trials. known: (m + 1, k), the unknowns after a zero; seen: (3, n, k), q; force:
    (3, n, k), f; moment: (n, k), a part of q x f; sums: (5, s + 1, k), of forces and moments by
    stations; half: (s, k), half angles; turn: (2, s + 1, k), cosine and sine of the stations;
    cosine, sine, spare: (n, k); of_bodies: (5, 3, bodies, k), the bodies themselves, their forces
    and sums over their stations; found: (m + 1, k), the gradient after what belongs to no unknown.
    """

    known: Floats
    seen: Floats
    force: Floats
    moment: Floats
    sums: Floats
    half: Floats
    turn: Floats
    cosine: Floats
    sine: Floats
    spare: Floats
    of_bodies: Floats
    found: Floats

    @classmethod
    def of(cls, block: Turning, trials: int) -> "Workspace":
        points, stations = len(block.turn), len(block.station)
        return cls(
            np.zeros((len(block.start) + 1, trials)),
            np.empty((3, points, trials)),
            np.empty((3, points, trials)),
            np.empty((points, trials)),
            np.empty((5, stations + 1, trials)),
            np.empty((stations, trials)),
            np.empty((2, stations + 1, trials)),
            np.empty((points, trials)),
            np.empty((points, trials)),
            np.empty((points, trials)),
            np.empty((5, 3, len(block.on_body), trials)),
            np.zeros((len(block.start) + 1, trials)),
        )

    @property
    def unknowns(self) -> Floats:
        """(m, k): a gradient at these needs no copy of them."""
        return self.known[1:]


def gradient(
    block: Turning, unknowns: Floats, observed: Floats, lengths: Floats, work: Workspace
) -> Floats:
    """(m, k), zero where the trial's least-squares problem is solved; written over by the next
    call in the same workspace.

    unknowns: (m, k) of k trials; observed: (3, n, k), mm; lengths: (spacings, k), mm.
    """
    known, found = work.known, work.found
    if unknowns.base is not known:
        known[1:] = unknowns
    np.take(known, block.station + 1, axis=0, out=work.half, mode="clip")
    np.multiply(work.half, 0.5, out=work.half)
    across = turns(block, work.half, work.turn)
    x, y, z = work.seen
    np.subtract(observed[0], known[3], out=x)
    np.subtract(observed[1], known[4], out=y)
    tilt = _tilt(known)
    _to_the_axis(tilt, work.seen[:2], observed[2], z, work.spare)
    if block.alike and block.grid:
        _fill_from_sums(block, work)
    else:
        _fill_from_forces(block, tilt, across, work)
    if block.alike:
        found *= block.metric[0, 0]
    _add_spacings(block, found, known, lengths)
    return found[1:]


def _fill_from_sums(block: Turning, work: Workspace) -> None:
    """Of a grid of points, each with the metric 1.

    With p a point seen from the axis, R' (observed - (x, y, 0)), and r its body turned by Rz(psi),
    the axis feels the force r - p and the moment p x r.
    """
    found, (cosine, sine) = work.found, work.turn
    points = work.seen.reshape(3, -1, *cosine.shape)
    body, pull, total, along, across = work.of_bodies
    rows = np.array([rows for rows, _ in block.runs])
    np.take(work.known, rows.T, axis=0, out=body, mode="clip")
    # Sums over the stations: of p, and of p times its station's cosine or sine.
    np.matmul(block.onto_body, work.seen, out=total)
    np.einsum("itsk,sk->itk", points, cosine, out=along)
    np.einsum("itsk,sk->itk", points, sine, out=across)
    np.multiply(body, float(len(cosine)), out=pull)
    pull[:2] -= along[:2]
    pull[0] -= across[1]
    pull[1] += across[0]
    pull[2] -= total[2]
    for number, (first, last) in enumerate(block.on_body):
        found[first:last] = pull[first - last :, number]
    x, y, z = body
    found[1] = (x * along[2] - y * across[2] - z * total[0]).sum(axis=0)
    found[2] = (x * across[2] + y * along[2] - z * total[1]).sum(axis=0)
    cosines, sines = work.turn.sum(axis=1)
    one, other, _ = body.sum(axis=1)
    found[3] = cosines * one - sines * other - total[0].sum(axis=0)
    found[4] = sines * one + cosines * other - total[1].sum(axis=0)
    if len(block.station):
        aligned, crosswise, moment = work.sums[:3]
        np.einsum("itsk,itk->sk", points[:2], body[:2], out=aligned)
        np.einsum("tsk,tk->sk", points[0], y, out=crosswise)
        crosswise -= np.einsum("tsk,tk->sk", points[1], x, out=moment)
        np.multiply(crosswise, cosine, out=moment)
        aligned *= sine
        found[block.station + 1] = np.add(moment, aligned, out=moment)[1:]


def _fill_from_forces(block: Turning, tilt: Triple, across: Pair, work: Workspace) -> None:
    """Of any points."""
    known, force, found = work.known, work.force, work.found
    x, y, _ = work.seen
    if len(block.station):
        across = _by_points(block, work, across)
        _turn_back(x, y, across, work.moment, work.spare)
    for rows, points in block.runs:
        for row, own, place in zip(rows, force, work.seen, strict=True):
            np.subtract(known[row], place[points], out=own[points])
    if block.metric.ndim == 3:
        _weigh(block, tilt, across, work)
    elif not block.alike:
        force *= block.metric
    for (first, last), points in zip(block.on_body, block.onto_body, strict=True):
        np.matmul(points, force[first - last :], out=found[first:last])
    np.matmul(block.onto_station, force[:2], out=work.sums[:2])
    _fill_moments(block, work)
    _fill_axis(block, work)


def _tilt(known: Floats) -> Triple:
    """Half tangents of the tilt, and what makes the axis of them (`block`)."""
    half_a, half_b = known[1] * 0.5, known[2] * 0.5
    return half_a, half_b, 2.0 / (1.0 + half_a * half_a + half_b * half_b)


def _to_the_axis(tilt: Triple, flat: Floats, z: Floats, along: Floats, spare: Floats) -> None:
    """R' on vectors: the first two components (2, n, k) in place, the third into `along`.

    With w = a' x + b' y + z they become x - a w, y - b w and share w - z.
    """
    half_a, half_b, share = tilt
    np.einsum("cnk,ck->nk", flat, (half_a, half_b), out=along)
    along += z
    for own, half in zip(flat, (half_a, half_b), strict=True):
        np.multiply(along, half * share, out=spare)
        own -= spare
    along *= share
    along -= z


def _by_points(block: Turning, work: Workspace, across: Pair) -> Pair:
    """Cosine and sine of each point's station, in a shape that the points can take."""
    if block.grid:
        return across
    cosine, sine = across
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
    x, y, z = work.force
    if len(block.station):
        _turn_back(x, y, (across[0], -across[1]), work.moment, work.spare)
    fall = (share - 1.0) * z - share * (half_a * x + half_b * y)
    there = np.array((x + (fall + z) * half_a, y + (fall + z) * half_b, fall))
    np.einsum("nij,jnk->ink", block.metric, there, out=work.force)
    _to_the_axis(tilt, work.force[:2], z.copy(), z, work.spare)
    if len(block.station):
        _turn_back(x, y, across, work.moment, work.spare)


def _fill_moments(block: Turning, work: Workspace) -> None:
    """q x f, summed over the points of each station, into the last of the sums."""
    seen, force, spare, moment = work.seen, work.force, work.spare, work.moment
    if block.grid:
        by_body = (3, -1, len(block.station) + 1, seen.shape[2])
        seen, force, spare = seen.reshape(by_body), force.reshape(by_body), spare[: by_body[2]]
        for total, (one, other) in zip(work.sums[2:], AROUND, strict=True):
            np.einsum("tsk,tsk->sk", seen[one], force[other], out=total)
            total -= np.einsum("tsk,tsk->sk", seen[other], force[one], out=spare)
        return
    for place, (one, other) in enumerate(AROUND, 2):
        np.multiply(seen[one], force[other], out=moment)
        np.multiply(seen[other], force[one], out=spare)
        moment -= spare
        np.matmul(block.onto_station, moment, out=work.sums[place])


def _fill_axis(block: Turning, work: Workspace) -> None:
    """Forces and moments of each station onto it and, turned, onto the axis."""
    sums, found, (cosine, sine) = work.sums, work.found, work.turn
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
