"""Maximum-likelihood circles in space: one edge of a wheel's rim."""

import math
from collections.abc import Sequence
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from app.geometry import anisotropic_circle, circle_rows
from app.geometry.circle_rows import Circle, Measured
from app.geometry.circle_start import first_circle
from app.geometry.circle_steps import settled
from app.geometry.dual import Floats, Scalar, Vector, scalar
from app.geometry.stacked import SPREAD_NEEDED_U, Stacked, frame_along, stacked
from app.geometry.three_points import Circumcircles, circumcircles
from app.geometry.undetermined import PointsTooClose


class FittedEdge(NamedTuple):
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
    -side times the normal). Minimises the sum of the squared distances, whitened, each point free
    to lie anywhere round the circle lifted by its offset: with variances the squares of axial
    distance normal . (p - centre) - side offset and of radial distance from the axle; degrees of
    freedom 2 k - 6. Slopes are exact whatever the residuals. Raises TooFewPoints, PointsTooClose
    (coincident or on one line), DoesNotSettle, all Undetermined. The algebra is in `circle_rows`,
    for covariances in `anisotropic_circle`, for three points of one offset in `three_points`.
    """
    given = stacked(points, spread, 3)
    offset = _shared(offsets)
    if len(points) == 3 and offset is not None:
        return _through_three(given, offset * side, np.asarray(toward, dtype=np.float64))
    lifts, of_lifts = _lifts(offsets, side, len(points))
    middle_lifts = lifts if lifts.ndim == 1 else lifts.mean(axis=1)
    first = first_circle(given.middle, given.variances, middle_lifts, np.asarray(toward))
    measured = Measured(given.places, lifts, spread)
    freedom = 2 * len(points) - 6
    if given.places.ndim == 3 or lifts.ndim == 2:
        centre, normal, radius, squares = settled(first, measured)
        return FittedEdge(Vector(centre), Vector(normal), Scalar(radius), squares, freedom)
    centre, normal, radius, squares = settled(first, measured)
    slopes = None
    if given.slopes is not None or of_lifts is not None:
        circle = Circle(centre, frame_along(normal), float(radius))
        slopes = _slopes(circle, measured, given.slopes, of_lifts)
    found = _with_slopes(centre, normal, float(radius), slopes)
    return FittedEdge(*found, float(squares), freedom)


def edges_through_three(
    places: Floats,
    slopes: Floats | None,
    variances: Floats,
    lifts: Sequence[Scalar],
    toward: Floats,
) -> list[FittedEdge]:
    """The circles through three points each of w edges, as `fit_circle_edge` gives them.

    places: (w, 3, 3), edge, point and component, mm; slopes: (w, 9, n); variances: (w, 3), mm²;
    lifts: (w,), along the normal, mm, each of all three points. Raises PointsTooClose.
    """
    lowered = np.array([lift.value for lift in lifts])
    found = _circumcircles(places.transpose(2, 1, 0), lowered, variances, toward)
    of_all = [None] * len(lifts) if slopes is None else list(found.local() @ slopes)
    circles = zip(found.centre.T, found.normal.T, found.radius.tolist(), strict=True)
    edges = []
    for (centre, normal, radius), lift, own in zip(circles, lifts, of_all, strict=True):
        if lift.slopes is not None:
            own = np.zeros((7, len(lift.slopes))) if own is None else own
            own[:3] -= normal[:, np.newaxis] * lift.slopes
        edges.append(FittedEdge(*_with_slopes(centre, normal, radius, own), 0.0, 0))
    return edges


def _with_slopes(
    centre: Floats, normal: Floats, radius: float, slopes: Floats | None
) -> tuple[Vector, Vector, Scalar]:
    """slopes: (7, n), of all three, or None."""
    if slopes is None:
        return Vector(centre), Vector(normal), Scalar(radius)
    return Vector(centre, slopes[:3]), Vector(normal, slopes[3:6]), Scalar(radius, slopes[6])


def _through_three(given: Stacked, lift: Scalar, toward: Floats) -> FittedEdge:
    """Three points of one offset: exact, so that there is no residual."""
    places, slopes = given.places, given.slopes
    if places.ndim == 2 and np.ndim(lift.value) == 0:
        one = None if slopes is None else slopes[np.newaxis]
        return edges_through_three(places[np.newaxis], one, given.variances, [lift], toward)[0]
    middle = given.middle.T[..., np.newaxis]
    toward = _circumcircles(middle, 0.0, given.variances, toward).normal[:, 0]
    corners = places if places.ndim == 3 else places[..., np.newaxis]
    found = circumcircles(corners.swapaxes(0, 1), lift.value, toward)
    squares = np.zeros(found.centre.shape[1])
    circle = Vector(found.centre), Vector(found.normal), Scalar(found.radius)
    return FittedEdge(*circle, squares, 0)


def _circumcircles(
    corners: Floats, lift: Floats | float, variances: Floats, toward: Floats
) -> Circumcircles:
    """variances: of their points, any shape. Raises PointsTooClose."""
    found = circumcircles(corners, lift, toward)
    needed = SPREAD_NEEDED_U * math.sqrt(variances.max())
    if not found.width > needed:
        raise PointsTooClose(0.0 if math.isnan(found.width) else found.width, needed)
    return found


def _shared(offsets: Sequence[Scalar | float] | None) -> Scalar | None:
    """The offset of all points, None where they differ."""
    if offsets is None:
        return Scalar(0.0)
    first = offsets[0]
    return scalar(first) if all(one == first for one in offsets) else None


def _lifts(
    offsets: Sequence[Scalar | float] | None, side: int, count: int
) -> tuple[Floats, Floats | None]:
    """Offsets along the normal, (k,) or (k, trials), and their slopes (k, n) where one has any."""
    if offsets is None:
        return np.zeros(count), None
    values = [one.value if isinstance(one, Scalar) else one for one in offsets]
    slopes = [one.slopes if isinstance(one, Scalar) else None for one in offsets]
    lifts = side * np.array(np.broadcast_arrays(*values) if _varied(values) else values)
    known = [one for one in slopes if one is not None]
    if not known:
        return lifts, None
    none = np.zeros_like(known[0])
    return lifts, side * np.array([none if one is None else one for one in slopes])


def _varied(values: Sequence[Floats | float]) -> bool:
    return any(isinstance(value, np.ndarray) and value.ndim for value in values)


def _slopes(
    circle: Circle, measured: Measured, of_places: Floats | None, of_lifts: Floats | None
) -> Floats:
    """(7, n): of centre, normal and radius, by the implicit function."""
    exact = len(measured.places) == 3
    if measured.spread.ndim == 1 or exact:
        unknowns = _local(circle, measured, exact)
    else:
        unknowns = anisotropic_circle.local(circle, measured)
    local = np.empty((7, unknowns.shape[1]))
    local[:3] = circle.frame.T @ unknowns[:3]
    local[3:6] = circle.frame[:2].T @ unknowns[3:5]
    local[6] = unknowns[5]
    places = 3 * len(measured.places)
    found: Floats | float = 0.0
    if of_places is not None:
        found = local[:, :places].dot(of_places)
    if of_lifts is not None:
        found = found + local[:, places:].dot(of_lifts)
    return np.asarray(found)


def _local(circle: Circle, measured: Measured, exact: bool) -> Floats:
    """(6, 4 k): derivatives of the unknowns, in the circle's frame, by places and lifts; exact:
    there are no residuals, and nothing depends on the spread."""
    at = circle_rows.rows(circle, measured.places)
    count = len(at.rho)
    residuals, root = None, np.ones(count)
    if not exact:
        residuals = np.stack((at.seen[:, 2] - measured.lifts, at.rho - circle.radius), axis=1)
        root = 1.0 / np.sqrt(measured.spread)
    slopes = circle_rows.whitened_slopes(at, root)
    matrix, by_place = circle_rows.by_places(at, slopes, root, residuals)
    wanted = np.empty((6, 4 * count))
    wanted[:, : 3 * count] = (by_place @ circle.frame).transpose(1, 0, 2).reshape(6, -1)
    wanted[:, 3 * count :] = slopes.reshape(count, 2, 6)[:, 0].T * -root
    return np.asarray(-np.linalg.solve(matrix, wanted), dtype=np.float64)
