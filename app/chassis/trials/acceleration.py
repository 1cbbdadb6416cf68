"""Steps with the shared normal matrix, mixed so that they shrink faster.

Where errors are large beside the radii, the steps of `solving` shrink slowly or not at all. From
the last few places of a trial and the gradients there follows how the gradient changes along them,
and so a better step (Anderson mixing, from memory: D. G. Anderson, J. ACM 12 (1965) 547-560),
measured in the norm of the normal matrix.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from app.chassis.survey import Floats
from app.chassis.trials.block import Turning
from app.chassis.trials.gradient import Workspace, gradient

Marks = NDArray[np.bool_]

SETTLED_MM = 1e-7
"""With steps that shrink at least threefold, half of that is left."""
SHRINKING = 0.3
GROWING = 10.0
"""A trial whose step grows more than that at once is given up."""
MOST_STEPS = 18
REMEMBERED = 4
RIDGE = 1e-10
AT_ONCE = 1000


class Accelerated(NamedTuple):
    unknowns: Floats
    found: Marks


class _Place(NamedTuple):
    at: Floats
    slope: Floats
    step: Floats


def accelerated(block: Turning, unknowns: Floats, observed: Floats, lengths: Floats) -> Accelerated:
    """Solve k trials from the estimate; those that do not settle stay where they stand (m, k)."""
    values, found = unknowns.copy(), np.zeros(unknowns.shape[1], dtype=bool)
    for begin in range(0, len(found), AT_ONCE):
        own = slice(begin, begin + AT_ONCE)
        values[:, own], found[own] = _mixed(
            block, unknowns[:, own], observed[:, :, own], lengths[:, own]
        )
    return Accelerated(values, found)


def _mixed(
    block: Turning, unknowns: Floats, observed: Floats, lengths: Floats
) -> tuple[Floats, Marks]:
    values, found = unknowns.copy(), np.zeros(unknowns.shape[1], dtype=bool)
    left = np.arange(len(found))
    known: list[_Place] = []
    start = np.repeat(block.start, len(left), axis=1)
    at, before = start, np.full(len(left), np.inf)
    for _ in range(MOST_STEPS):
        work = Workspace.of(block, at.shape[1])
        slope = gradient(block, at, observed, lengths, work)
        here = _Place(at, slope, block.inverse @ slope)
        size = np.abs(here.step * block.scale).max(axis=0)
        done = (size <= SETTLED_MM) & (size <= SHRINKING * before)
        if done.any():
            values[:, left[done]] = (at - here.step)[:, done]
            found[left[done]] = True
        going = ~done & (size <= GROWING * before)
        if not going.any():
            break
        if not going.all():
            here = _only(here, going)
            known = [_only(place, going) for place in known]
            left, size, observed = left[going], size[going], observed[:, :, going]
            lengths = lengths[:, going]
        at, before = here.at - _step(here, known), size
        known = [*known[1 - REMEMBERED :], here]
    return values, found


def _only(place: _Place, marks: Marks) -> _Place:
    return _Place(place.at[:, marks], place.slope[:, marks], place.step[:, marks])


def _step(here: _Place, known: list[_Place]) -> Floats:
    """(m, k): the step from here that the places known before make the best."""
    count = len(known)
    if not count:
        return here.step
    slopes = [here.slope - place.slope for place in known]
    steps = [here.step - place.step for place in known]
    size = np.array([[_dot(one, other) for other in steps] for one in slopes])
    size[range(count), range(count)] *= 1.0 + RIDGE
    right = np.array([_dot(one, here.slope) for one in steps])
    share = _solve(size.transpose(2, 0, 1), right.T).T
    step = here.step.copy()
    for part, place, change in zip(share, known, steps, strict=True):
        step += part * (here.at - place.at - change)
    return step


def _solve(size: Floats, right: Floats) -> Floats:
    """(k, count); zero for a trial whose places tell nothing."""
    usable: Marks = np.asarray(np.isfinite(size.sum(axis=(1, 2)) + right.sum(axis=1)))
    usable &= size.diagonal(axis1=1, axis2=2).min(axis=1) > 0.0
    size = np.where(usable[:, np.newaxis, np.newaxis], size, np.eye(size.shape[1]))
    right = np.where(usable[:, np.newaxis], right, 0.0)
    try:
        return np.asarray(np.linalg.solve(size, right[:, :, np.newaxis])[:, :, 0])
    except np.linalg.LinAlgError:
        return np.zeros_like(right)


def _dot(one: Floats, other: Floats) -> Floats:
    return np.asarray((one * other).sum(axis=0))
