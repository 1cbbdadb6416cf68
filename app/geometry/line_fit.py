"""Maximum-likelihood lines through measured points, with derivatives or over many trials."""

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from app.geometry import anisotropic_line
from app.geometry.anisotropic_line import Solution
from app.geometry.dual import Floats, Scalar, Vector, unit
from app.geometry.stacked import SPREAD_NEEDED_U, Stacked, stacked, variances
from app.geometry.undetermined import PointsTooClose

EASY_TURNS = 20
SETTLED_RAD = 1e-13


class FittedLine(NamedTuple):
    point: Vector
    """The point of the line beside the weighted mean of the points."""
    direction: Vector
    chi_square: Floats | float
    """Sum of the squared distances, whitened by the spread; over trials (trials,)."""
    degrees_of_freedom: int


def fit_line(
    points: Sequence[Vector],
    spread: Floats,
    toward: ArrayLike,
    *,
    apart_u: float = SPREAD_NEEDED_U,
) -> FittedLine:
    """The maximum-likelihood line through k points.

    points: k >= 2, mm, all with slopes or all over trials; spread: (k,) variances of a coordinate,
    or (k, 3, 3) covariances, mm²; toward: (3,), what the direction must agree with; apart_u: how
    many of their standard uncertainties the points must be apart. Minimises the sum of the squared
    distances, whitened, each point free to lie anywhere along the line; degrees of freedom 2 k - 4.
    Slopes are exact whatever the residuals. Raises TooFewPoints, PointsTooClose, and DoesNotSettle,
    all Undetermined. Formula for variances: first principal direction (K. Pearson, Phil. Mag. 2
    (1901) 559-572); for covariances see `anisotropic_line`.
    """
    if len(points) == 2:
        return _through_two(points, variances(spread), np.asarray(toward), apart_u)
    given = stacked(points, spread, 2)
    middle = given.middle
    apart = max(float(np.linalg.norm(middle - place, axis=1).max()) for place in middle[1:])
    _check_apart(apart, apart_u * math.sqrt(given.variances.max()))
    if given.covariances is None:
        found = _principal(given)
    else:
        start = _principal_of_middle(given)
        found = anisotropic_line.solve(given, given.covariances, start)
    agrees = np.asarray(toward, dtype=np.float64) @ found.direction
    sign = np.where(agrees < 0.0, -1.0, 1.0)
    point = direction = None
    if found.local is not None and given.slopes is not None:
        slopes = found.local.dot(given.slopes)
        point, direction = slopes[:3], sign * slopes[3:]
    return FittedLine(
        Vector(found.point, point),
        Vector(sign * found.direction, direction),
        found.chi_square,
        2 * len(points) - 4,
    )


def _check_apart(apart: float, needed: float) -> None:
    """Raises PointsTooClose."""
    if not apart > needed:
        raise PointsTooClose(apart, needed)


def _through_two(
    ends: Sequence[Vector], spread: Floats, toward: Floats, apart_u: float
) -> FittedLine:
    """Exact, so that there is no residual; spread: (2,), variances."""
    arm = ends[1] - ends[0]
    over_trials = arm.value.ndim == 2
    middle = arm.value.mean(axis=1) if over_trials else arm.value
    first, second = spread.tolist()
    _check_apart(math.hypot(*middle.tolist()), apart_u * math.sqrt(max(first, second)))
    direction = unit(arm)
    agrees = toward.dot(direction.value)
    if over_trials:
        direction = direction * Scalar(np.where(agrees < 0.0, -1.0, 1.0))
    elif agrees < 0.0:
        direction = -direction
    chi_square = np.zeros(arm.value.shape[1]) if over_trials else 0.0
    return FittedLine(ends[1] - arm * (second / (first + second)), direction, chi_square, 0)


def _principal(given: Stacked) -> Solution:
    """First principal direction of the weighted points, by their variances alone."""
    mean = (given.weights @ given.places.reshape(len(given.places), -1)).reshape(3, -1)
    if given.places.ndim == 3:
        return _principal_over_trials(given, mean)
    arms = given.places - mean[:, 0]
    weighted = arms * given.weights[:, np.newaxis]
    sizes, directions = np.linalg.eigh(weighted.T.dot(arms))
    direction = directions[:, 2]
    along = arms.dot(direction)
    off = arms - along[:, np.newaxis] * direction
    chi_square = float(np.sum(off * off, axis=1) @ (1.0 / given.variances))
    local = None
    if given.slopes is not None:
        gaps = directions[:, :2] / (sizes[2] - sizes[:2])
        across = gaps.dot(directions[:, :2].T)
        local = np.concatenate((given.of_mean, _turning(given, across, along, off, direction)))
    return Solution(mean[:, 0], direction, chi_square, local)


def _turning(
    given: Stacked, across: Floats, along: Floats, off: Floats, direction: Floats
) -> Floats:
    """(3, 3 k): derivatives of the principal direction by the places (perturbation of M = sum of
    w arm arm^T, whose change acts on the direction through arm (arm . direction)).

    across: (3, 3), sum of v v^T / (gap of the eigenvalues) over the two other directions v.
    """
    one = across[:, np.newaxis, :] * along[:, np.newaxis]
    two = off.dot(across).T[:, :, np.newaxis] * direction
    turned = (one + two) * given.weights[:, np.newaxis]
    return np.asarray(turned.reshape(3, -1))


def _principal_over_trials(given: Stacked, mean: Floats) -> Solution:
    """Powers of the matrix of moments, which settle by the square of width over length; by its
    eigenvectors where that is too little."""
    arms = given.places - mean
    weighted = arms * given.weights[:, np.newaxis, np.newaxis]
    moments = np.einsum("kit,kjt->ijt", weighted, arms)
    direction = np.repeat(_principal_of_middle(given)[:, np.newaxis], mean.shape[1], axis=1)
    for _ in range(EASY_TURNS):
        turned = np.einsum("ijt,jt->it", moments, direction)
        turned /= np.sqrt(np.sum(turned * turned, axis=0))
        change = np.abs(turned - direction).max(axis=0)
        direction = turned
        if change.max() < SETTLED_RAD:
            break
    else:
        rest = np.flatnonzero(change >= SETTLED_RAD)
        direction[:, rest] = np.linalg.eigh(moments[..., rest].transpose(2, 0, 1))[1][..., 2].T
    along = np.einsum("kit,it->kt", arms, direction)
    off = arms - along[:, np.newaxis] * direction
    chi_square = (1.0 / given.variances) @ np.sum(off * off, axis=1)
    return Solution(mean, direction, chi_square, None)


def _principal_of_middle(given: Stacked) -> Floats:
    middle = Stacked(given.middle, None, given.variances, None)
    return _principal(middle).direction
