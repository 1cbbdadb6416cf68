"""Maximum-likelihood circles in space: one edge of a wheel's rim."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from app.geometry import circle_rows
from app.geometry.circle_rows import Circles, Measured
from app.geometry.circle_start import first_circle
from app.geometry.dual import Floats, Scalar, Vector
from app.geometry.stacked import stacked
from app.geometry.undetermined import DoesNotSettle

MOST_STEPS = 100
SETTLED_MM = 1e-10


@dataclass(frozen=True, slots=True)
class FittedEdge:
    centre: Vector
    normal: Vector
    radius: Scalar
    chi_square: Floats | float
    """Sum of the squared axial and radial residuals, whitened; over trials (trials,)."""
    degrees_of_freedom: int


def fit_circle_edge(
    points: Sequence[Vector],
    spread: Floats,
    toward: ArrayLike,
    *,
    offsets: Sequence[Scalar | float] | None = None,
    side: Literal[-1, 1] = 1,
) -> FittedEdge:
    """The maximum-likelihood circle through k points of a rim's edge.

    points: k >= 3, mm, all with slopes or all over trials; spread: (k,) variances of a coordinate,
    or (k, 3, 3) covariances, mm²; toward: (3,), what the normal must agree with; offsets: (k,),
    mm, how far each measured centre lies outside the edge along `side` times the normal, with
    slopes or over trials where they have an uncertainty (a common error moves the centre alone, by
    -side times the normal). Minimises the squares of axial distance normal . (p - centre) - side
    offset and of radial distance, whitened by the variances, or by the covariances projected on
    these two directions as they lie at a first circle; degrees of freedom 2 k - 6. Slopes are
    exact whatever the residuals, with those whitenings held. Raises TooFewPoints, PointsTooClose
    (coincident or on one line), DoesNotSettle, all Undetermined. Gauss-Newton steps, slopes by the
    implicit function; the algebra is in `circle_rows`.
    """
    given = stacked(points, spread, 3)
    lifts, by_inputs = _lifts(offsets, side, len(points))
    first = first_circle(
        given.middle, given.variances, lifts.mean(axis=0), np.asarray(toward, dtype=np.float64)
    )
    measured = Measured(given.over_trials, lifts, circle_rows.whitening(given, first))
    circles, chi_square = _settled(first, measured)
    freedom = 2 * len(points) - 6
    if len(circles.radius) > 1:
        centre, normal, radius = circles
        return FittedEdge(Vector(centre.T), Vector(normal.T), Scalar(radius), chi_square, freedom)
    slopes: Floats | None = None
    if given.slopes is not None or by_inputs is not None:
        slopes = _slopes(circles, measured, given.slopes, by_inputs)
    return FittedEdge(
        Vector(circles.centre[0], None if slopes is None else slopes[:3]),
        Vector(circles.normal[0], None if slopes is None else slopes[3:6]),
        Scalar(float(circles.radius[0]), None if slopes is None else slopes[6]),
        float(chi_square[0]),
        freedom,
    )


def _lifts(
    offsets: Sequence[Scalar | float] | None, side: int, count: int
) -> tuple[Floats, Floats | None]:
    """(t, k) offsets along the normal, and their slopes (k, n) where one has any."""
    if offsets is None:
        return np.zeros((1, count)), None
    values = [one.value if isinstance(one, Scalar) else one for one in offsets]
    lifts = side * np.atleast_2d(np.stack(np.broadcast_arrays(*values), axis=-1))
    slopes = [one.slopes if isinstance(one, Scalar) else None for one in offsets]
    known = [one for one in slopes if one is not None]
    if not known:
        return lifts, None
    none = np.zeros_like(known[0])
    return lifts, side * np.array([none if one is None else one for one in slopes])


def _settled(first: Circles, measured: Measured) -> tuple[Circles, Floats]:
    """The circles of all trials, and the sums of squares. Raises DoesNotSettle."""
    trials = max(len(measured.places), len(measured.lifts))
    count = measured.places.shape[1]
    places = np.broadcast_to(measured.places, (trials, count, 3))
    lifts = np.broadcast_to(measured.lifts, (trials, count))
    centre, normal, radius = (np.repeat(one, trials, axis=0) for one in first)
    chi_square = np.empty(trials)
    going = np.arange(trials)
    for _ in range(MOST_STEPS):
        circles = Circles(centre[going], normal[going], radius[going])
        at = circle_rows.rows(circles, Measured(places[going], lifts[going], measured.whitening))
        chi_square[going] = np.einsum("tr,tr->t", at.residuals, at.residuals)
        turned = at.slopes.transpose(0, 2, 1)
        down = turned @ -at.residuals[..., np.newaxis]
        step: Floats = np.linalg.solve(turned @ at.slopes, down)[..., 0]
        centre[going], normal[going], radius[going] = circle_rows.moved(circles, at.frames, step)
        size = np.abs(step[:, (0, 1, 2, 5)]).max(axis=1)
        size += np.abs(step[:, 3:5]).max(axis=1) * circles.radius
        going = going[size > SETTLED_MM]
        if not len(going):
            return Circles(centre, normal, radius), chi_square
    raise DoesNotSettle(MOST_STEPS)


def _slopes(
    circles: Circles, measured: Measured, of_places: Floats | None, of_lifts: Floats | None
) -> Floats:
    """(7, n): of centre, normal and radius. A lift acts as its point does, the other way, along
    the normal."""
    local = circle_rows.local(circles, measured)
    slopes: Floats | float = 0.0
    if of_places is not None:
        slopes = local.reshape(7, -1) @ of_places
    if of_lifts is not None:
        slopes = slopes - (local @ circles.normal[0]) @ of_lifts
    return np.asarray(slopes)
