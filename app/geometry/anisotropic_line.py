"""The maximum-likelihood line where the uncertainty of a point is not the same in every direction.

In a frame whose third direction lies near the line, the line is (x + a z, y + b z, z); a point p
lies off it by y2 = (p1 - x - a p3, p2 - y - b p3), with covariance S = K C K^T, K the (2, 3)
derivatives of y2 by p. Free to choose the point's true place on the line, the least squared
Mahalanobis distance is y2^T S^-1 y2, and the true place has z = p3 - (C K^T S^-1 y2)3. The
derivatives of half the sum by x, y are then -sum of S^-1 y2, and by a, b the same with that z as
the lever: exact. The second derivatives at the minimum give the slopes (implicit function).
Straight lines with errors in both coordinates: D. York, Can. J. Phys. 44 (1966) 1079-1086; in
space and with any covariance the algebra is ours.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from app.geometry.dual import Floats
from app.geometry.settling import Slope, settle
from app.geometry.stacked import Stacked, frame_along


class Solution(NamedTuple):
    """point, direction: (3,) or (3, trials); chi_square: () or (trials,); local: (6, 3 k),
    derivatives of point and direction by the places, where they were asked for."""

    point: Floats
    direction: Floats
    chi_square: Floats | float
    local: Floats | None


def solve(given: Stacked, covariances: Floats, start: Floats) -> Solution:
    """covariances: (k, 3, 3); start: (3,), unit direction. Raises DoesNotSettle."""
    frame = frame_along(start)
    over_trials = given.places.ndim == 3
    origin = given.weights @ given.middle
    problem = _problem(given, covariances, frame, origin)
    trials = problem.places.shape[-1]
    reach = np.abs(problem.places[2]).max()
    first = problem.of(np.zeros(1, dtype=np.intp)).matrices(np.zeros((4, 1)))[0]
    lengths = np.array((1.0, 1.0, reach, reach))
    unknowns, chi_square = settle(problem, np.zeros((4, trials)), lengths, np.linalg.inv(first))
    direction = np.ones((3, trials))
    direction[:2] = unknowns[2:]
    point = np.zeros((3, trials))
    point[:2] = unknowns[:2]
    # The point goes along the line until it lies beside the weighted mean.
    mean = np.einsum("k,ikt->it", given.weights, problem.places)
    squares = (direction * direction).sum(axis=0)
    point += direction * (((mean - point) * direction).sum(axis=0) / squares)
    beside = frame.T @ (mean - point)
    point = origin[:, np.newaxis] + frame.T @ point
    direction = frame.T @ direction / np.sqrt(squares)
    if over_trials:
        return Solution(point, direction, chi_square, None)
    local = None
    if given.slopes is not None:
        local = _local(given, covariances, point[:, 0], direction[:, 0], beside[:, 0])
    return Solution(point[:, 0], direction[:, 0], float(chi_square[0]), local)


def _problem(given: Stacked, covariances: Floats, frame: Floats, origin: Floats) -> "_Problem":
    places = given.places if given.places.ndim == 3 else given.places[..., np.newaxis]
    seen = (frame @ (places - origin[:, np.newaxis])).transpose(1, 0, 2)
    spread = (frame @ covariances @ frame.T).transpose(1, 2, 0)[..., np.newaxis]
    return _Problem(np.ascontiguousarray(seen), np.ascontiguousarray(spread))


class _Off(NamedTuple):
    """off, pull, tied: (2, k, t), y2, S^-1 y2, covariance of y2 and p3; weight: (3, k, t), S^-1 as
    first, mixed, second; lever: (k, t), z of the true places."""

    off: Floats
    pull: Floats
    tied: Floats
    weight: Floats
    lever: Floats


class _Problem(NamedTuple):
    """In the frame; places: (3, k, t); spread: (3, 3, k, 1), covariances."""

    places: Floats
    spread: Floats

    def of(self, trials: NDArray[np.intp]) -> "_Problem":
        """Of some of the trials."""
        return _Problem(self.places[..., trials], self.spread)

    def off(self, unknowns: Floats) -> _Off:
        """At each trial's line."""
        tilt, spread, along = unknowns[2:, np.newaxis], self.spread, self.places[2]
        off = self.places[:2] - unknowns[:2, np.newaxis] - tilt * along
        tied = spread[:2, 2] - tilt * spread[2, 2]
        first = spread[0, 0] - tilt[0] * (spread[0, 2] + tied[0])
        second = spread[1, 1] - tilt[1] * (spread[1, 2] + tied[1])
        mixed = spread[0, 1] - tilt[1] * spread[0, 2] - tilt[0] * tied[1]
        weight = np.array((second, -mixed, first)) / (first * second - mixed * mixed)
        pull = np.array(
            (weight[0] * off[0] + weight[1] * off[1], weight[1] * off[0] + weight[2] * off[1])
        )
        return _Off(off, pull, tied, weight, along - (tied * pull).sum(axis=0))

    def slope(self, unknowns: Floats) -> Slope:
        """Gradient (4, t) and sum of squares (t,)."""
        at = self.off(unknowns)
        gradient = np.empty(unknowns.shape)
        gradient[:2] = -at.pull.sum(axis=1)
        gradient[2:] = -(at.pull * at.lever).sum(axis=1)
        return Slope(gradient, (at.off * at.pull).sum(axis=(0, 1)))

    def matrices(self, unknowns: Floats) -> Floats:
        """(t, 4, 4): of Gauss-Newton."""
        at = self.off(unknowns)
        weight = np.moveaxis(at.weight[[0, 1, 1, 2]], 2, 0).reshape(len(at.lever.T), 2, 2, -1)
        lever = at.lever.T[:, np.newaxis, np.newaxis]
        matrix = np.empty((len(weight), 4, 4))
        matrix[:, :2, :2] = weight.sum(axis=3)
        matrix[:, :2, 2:] = matrix[:, 2:, :2] = (weight * lever).sum(axis=3)
        matrix[:, 2:, 2:] = (weight * lever * lever).sum(axis=3)
        return matrix


def _local(
    given: Stacked, covariances: Floats, point: Floats, direction: Floats, beside: Floats
) -> Floats:
    """(6, 3 k): derivatives of point and direction by the places, at the minimum.

    beside: (3,), from the point to the weighted mean, which it stays beside. In the frame of the
    line itself, with N = S^-1, l = N y2, z the lever, h = tied, E = h l^T - z: the change of (sum
    of l, sum of l z) by the unknowns is -sum [[N, -N E], [-E^T N, E^T N E - of_z l l^T]], and by a
    place [N, 0] above [-E^T N, l].
    """
    frame = frame_along(direction)
    problem = _problem(given, covariances, frame, point)
    at = problem.off(np.zeros((4, 1)))
    pull, tied = at.pull[..., 0].T, at.tied[..., 0].T
    weight = at.weight[[0, 1, 1, 2], :, 0].T.reshape(-1, 2, 2)
    turning = tied[:, :, np.newaxis] * pull[:, np.newaxis, :]
    turning[:, (0, 1), (0, 1)] -= at.lever
    leaning = weight @ turning
    count = len(pull)
    matrix = np.empty((4, 4))
    matrix[:2, :2] = weight.sum(axis=0)
    matrix[:2, 2:] = -leaning.sum(axis=0)
    matrix[2:, :2] = matrix[:2, 2:].T
    squares = pull[:, :, np.newaxis] * pull[:, np.newaxis, :]
    curved = turning.transpose(0, 2, 1) @ leaning
    matrix[2:, 2:] = (curved - squares * problem.spread[2, 2, :, :, np.newaxis]).sum(axis=0)
    by_place = np.zeros((count, 4, 3))
    by_place[:, :2, :2] = weight
    by_place[:, 2:, :2] = -leaning.transpose(0, 2, 1)
    by_place[:, 2:, 2] = pull
    by_places = (by_place @ frame).transpose(1, 0, 2).reshape(4, -1)
    unknowns = np.linalg.solve(matrix, by_places)
    local = np.empty((6, 3 * count))
    local[3:] = frame[:2].T @ unknowns[2:]
    local[:3] = frame[:2].T @ unknowns[:2]
    local[:3] += np.outer(direction, direction @ given.of_mean + beside @ local[3:])
    return local
