"""The maximum-likelihood line where the uncertainty of a point is not the same in every direction.

In a frame whose third direction lies along the line, the line is (x + a z, y + b z, z); a point
p lies off it by y2 = (p1 - x - a p3, p2 - y - b p3), with covariance S = K C K^T, K the (2, 3)
derivatives of y2 by p. Free to choose the point's true place on the line, the least squared
Mahalanobis distance is y2^T S^-1 y2, and the true place has z = p3 - (C K^T S^-1 y2)3. The
derivatives of the sum by (x, y, a, b) are exact with that z as the lever; Gauss-Newton steps from
frame to frame bring them to nothing, and the second derivatives there give the slopes (implicit
function). Straight lines with errors in all coordinates: D. York, Can. J. Phys. 44 (1966)
1079-1086, here in space and with any covariance; the algebra is ours.
"""

from typing import NamedTuple

import numpy as np

from app.geometry.dual import Floats
from app.geometry.stacked import Stacked, frames_along
from app.geometry.undetermined import DoesNotSettle

MOST_STEPS = 100
SETTLED_MM = 1e-10


class Solution(NamedTuple):
    """point, direction: (3,) or (3, trials); chi_square: () or (trials,); local: (6, 3 k),
    derivatives of point and direction by the places, where they were asked for."""

    point: Floats
    direction: Floats
    chi_square: Floats | float
    local: Floats | None


class _Rows(NamedTuple):
    """frames: (t, 3, 3); off: (t, k, 2), y2; pull: (t, k, 2), S^-1 y2; weight: (t, k, 2, 2), S^-1;
    lever: (t, k), z of the true places; tied: (t, k, 2), covariance of y2 and z; of_z: (t, k)."""

    frames: Floats
    off: Floats
    pull: Floats
    weight: Floats
    lever: Floats
    tied: Floats
    of_z: Floats


def solve(given: Stacked, start: Floats) -> Solution:
    """start: (3,) or (3, trials), unit directions. Raises DoesNotSettle."""
    places, covariances = given.over_trials, given.covariances
    assert covariances is not None
    mean = np.einsum("k,tki->ti", given.weights, places)
    directions = np.array(start.reshape(3, -1).T)
    points = mean.copy()
    going = np.arange(len(places))
    for _ in range(MOST_STEPS):
        rows = _rows(places[going], covariances, points[going], directions[going])
        step, size = _step(rows)
        points[going] += np.einsum("ti,tij->tj", step[:, :2], rows.frames[:, :2])
        turned = directions[going] + np.einsum("ti,tij->tj", step[:, 2:], rows.frames[:, :2])
        directions[going] = turned / np.linalg.norm(turned, axis=1, keepdims=True)
        going = going[size > SETTLED_MM]
        if not len(going):
            break
    else:
        raise DoesNotSettle(MOST_STEPS)
    points += directions * np.sum((mean - points) * directions, axis=1, keepdims=True)
    rows = _rows(places, covariances, points, directions)
    chi_square = np.einsum("tki,tki->t", rows.off, rows.pull)
    if given.places.ndim == 3:
        return Solution(points.T, directions.T, chi_square, None)
    local = None if given.slopes is None else _local(rows, given.of_mean, (mean - points)[0])
    return Solution(points[0], directions[0], float(chi_square[0]), local)


def _rows(places: Floats, covariances: Floats, points: Floats, directions: Floats) -> _Rows:
    frames = frames_along(directions)
    turned = frames.transpose(0, 2, 1)
    seen = (places - points[:, np.newaxis]) @ turned
    spread = frames[:, np.newaxis] @ covariances @ turned[:, np.newaxis]
    weight = _inverse(spread[..., :2, :2])
    off = seen[..., :2]
    pull = (weight @ off[..., np.newaxis])[..., 0]
    tied = spread[..., 2, :2]
    lever = seen[..., 2] - np.sum(tied * pull, axis=-1)
    return _Rows(frames, off, pull, weight, lever, tied, spread[..., 2, 2])


def _inverse(matrices: Floats) -> Floats:
    """Of symmetric (..., 2, 2)."""
    inverse = np.empty_like(matrices)
    a, b, d = matrices[..., 0, 0], matrices[..., 0, 1], matrices[..., 1, 1]
    inverse[..., 0, 0], inverse[..., 1, 1] = d, a
    inverse[..., 0, 1] = inverse[..., 1, 0] = -b
    inverse /= (a * d - b * b)[..., np.newaxis, np.newaxis]
    return inverse


def _step(rows: _Rows) -> tuple[Floats, Floats]:
    """Gauss-Newton step (t, 4) of x, y, a, b, and how far it moves the line at the points, mm."""
    lever = rows.lever[..., np.newaxis, np.newaxis]
    matrix = np.empty((len(lever), 4, 4))
    matrix[:, :2, :2] = rows.weight.sum(axis=1)
    matrix[:, :2, 2:] = matrix[:, 2:, :2] = (rows.weight * lever).sum(axis=1)
    matrix[:, 2:, 2:] = (rows.weight * lever * lever).sum(axis=1)
    pulled = np.concatenate(
        (rows.pull.sum(axis=1), (rows.pull * rows.lever[..., np.newaxis]).sum(axis=1)), axis=1
    )
    step = np.linalg.solve(matrix, pulled[..., np.newaxis])[..., 0]
    reach = np.abs(rows.lever).max(axis=1)
    return step, np.abs(step[:, :2]).max(axis=1) + reach * np.abs(step[:, 2:]).max(axis=1)


def _local(rows: _Rows, of_mean: Floats, beside: Floats) -> Floats:
    """(6, 3 k): derivatives of point and direction by the places, at the minimum, of one trial.

    of_mean: (3, 3 k), of the mean that the point stays beside; beside: (3,), from point to mean.

    With N = S^-1, l = N y2, z the lever, h = tied, E = h l^T - z: the change of (sum of l, sum of
    l z) by the unknowns is -sum [[N, -N E], [-E^T N, E^T N E - of_z l l^T]], and by a place
    [N, 0] above [-E^T N, l].
    """
    frame, pull, weight = rows.frames[0], rows.pull[0], rows.weight[0]
    turning = rows.tied[0][:, :, np.newaxis] * pull[:, np.newaxis, :]
    turning[:, (0, 1), (0, 1)] -= rows.lever[0][:, np.newaxis]
    leaning = weight @ turning
    count = len(pull)
    matrix = np.empty((4, 4))
    matrix[:2, :2] = weight.sum(axis=0)
    matrix[:2, 2:] = -leaning.sum(axis=0)
    matrix[2:, :2] = matrix[:2, 2:].T
    curved = turning.transpose(0, 2, 1) @ leaning
    curved -= (pull[:, :, np.newaxis] * pull[:, np.newaxis, :]) * rows.of_z[0][:, None, None]
    matrix[2:, 2:] = curved.sum(axis=0)
    by_place = np.zeros((count, 4, 3))
    by_place[:, :2, :2] = weight
    by_place[:, 2:, :2] = -leaning.transpose(0, 2, 1)
    by_place[:, 2:, 2] = pull
    by_places = (by_place @ frame).transpose(1, 0, 2).reshape(4, -1)
    unknowns = np.linalg.solve(matrix, by_places)
    local = np.empty((6, 3 * count))
    local[3:] = frame[:2].T @ unknowns[2:]
    local[:3] = frame[:2].T @ unknowns[:2]
    local[:3] += np.outer(frame[2], frame[2] @ of_mean + beside @ local[3:])
    return local
