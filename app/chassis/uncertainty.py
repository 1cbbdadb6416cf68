"""The covariance of each point: as stated, as the instrument's, or as replicates show it."""

import math
from collections import defaultdict
from collections.abc import Mapping
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from app.chassis import caveats, refusals
from app.chassis.features import POINT_FEATURES, Points
from app.chassis.result import Caveat
from app.chassis.survey import Floats
from app.metrology.type_a import chi_square_limit, f_limit

Marks = NDArray[np.bool_]
TAIL = 0.001
SMALLEST_U_MM = 1e-9


class PointUncertainty(NamedTuple):
    """variance: (n,) mean variance of a point's three coordinates, mm²; covariance: the points
    whose coordinates differ or are correlated, (3, 3) mm²; replaced: (n,), whose variance comes
    from replicates, with `degrees_of_freedom`."""

    variance: Floats
    covariance: Mapping[int, Floats]
    replaced: Marks | None = None
    degrees_of_freedom: float | None = None

    def along(self, places: list[int], direction: Floats) -> Floats:
        """(m,): variances of points along a unit vector, mm²."""
        variance: Floats = self.variance.take(places)
        for row, i in enumerate(places) if self.covariance else ():
            if i in self.covariance:
                variance[row] = direction @ self.covariance[i] @ direction
        return variance

    def scaled(self, factor: float) -> "PointUncertainty":
        """The same after all lengths were multiplied by a factor."""
        if factor == 1.0:
            return self
        square = factor * factor
        return PointUncertainty(
            self.variance * square,
            {i: matrix * square for i, matrix in self.covariance.items()},
            self.replaced,
            self.degrees_of_freedom,
        )


def stated(points: Points) -> PointUncertainty:
    """What the points and the instrument state. Raises Refusal `no_uncertainty`."""
    survey = points.survey
    default = survey.instrument.standard_uncertainty_mm
    u = survey.u if default is None else np.where(np.isnan(survey.u), default, survey.u)
    variance = u * u
    for i, covariance in survey.cov.items():
        variance[i] = _mean_variance(covariance, survey.feature[i], i)
    if not (u > SMALLEST_U_MM).all():
        _refuse(points, u)
    return PointUncertainty(variance, survey.cov)


def _mean_variance(covariance: Floats, feature: str, i: int) -> float:
    eigenvalues = np.linalg.eigvalsh((covariance + covariance.T) / 2.0)
    if not eigenvalues[0] > max(SMALLEST_U_MM**2, 1e-12 * eigenvalues[-1]):
        raise refusals.no_uncertainty(feature, i + 1, "not_definite")
    return float(eigenvalues.mean())


def _refuse(points: Points, u: Floats) -> None:
    survey = points.survey
    for i, value in enumerate(u.tolist()):
        if i in survey.cov or value > SMALLEST_U_MM:
            continue
        what = "none" if np.isnan(value) else "not_positive"
        raise refusals.no_uncertainty(survey.feature[i], i + 1, what)


def with_replicates(
    points: Points, claimed: PointUncertainty
) -> tuple[PointUncertainty, list[Caveat]]:
    """Replace variances by the scatter of repeated points where that is larger at 0.1 %.

    Scatter is pooled over the survey in units of each point's own claim, and with the
    instrument's history; one pair alone is no evidence. What is replaced is scaled, so that a
    point's stated covariance keeps its shape. A group that scatters far more than all others
    holds a wrong point: it says nothing of the instrument, and the noise check names it. A history
    whose degrees of freedom are not stated is taken as one more claim: the larger of the two
    stands.
    """
    instrument = points.survey.instrument
    history, known = instrument.repeatability_mm, instrument.repeatability_degrees_of_freedom
    if history is not None and known is None:
        claimed = _at_least(claimed, history)
    groups = _without_blunders(points, claimed, _replicates(points))
    squares, freedom = _pooled(points, claimed, groups)
    degrees = float(freedom)
    if history is not None and known is not None:
        degrees += known
        squares = squares + known * history**2 / claimed.variance
    elif freedom <= 3:
        return claimed, []
    if degrees <= 0.0:
        return claimed, []
    ratio = np.broadcast_to(squares / degrees, claimed.variance.shape)
    replaced = ratio * degrees > chi_square_limit(TAIL, degrees)
    if not replaced.any():
        return claimed, []
    grown = _times(claimed, np.where(replaced, ratio, 1.0))
    shown = math.sqrt(float(grown.variance[replaced].max()))
    return (
        PointUncertainty(grown.variance, grown.covariance, replaced, degrees),
        [caveats.replicates_scatter(shown, degrees, int(replaced.sum()))],
    )


def _at_least(claimed: PointUncertainty, u: float) -> PointUncertainty:
    return _times(claimed, np.maximum(1.0, u**2 / claimed.variance))


def _times(claimed: PointUncertainty, factor: Floats) -> PointUncertainty:
    return PointUncertainty(
        claimed.variance * factor,
        {i: matrix * factor[i] for i, matrix in claimed.covariance.items()},
    )


def _replicates(points: Points) -> list[list[int]]:
    """Points of one place: of one feature, label and station."""
    label, station = points.survey.label, points.survey.station
    found = []
    for of_feature in (points.first, points.returned):
        for feature in POINT_FEATURES & of_feature.keys():
            places = of_feature[feature]
            names = [(label[i], station[i]) for i in places]
            if len(set(names)) < len(names):
                groups: dict[tuple[str | None, str | None], list[int]] = defaultdict(list)
                for name, i in zip(names, places, strict=True):
                    groups[name].append(i)
                found += [group for group in groups.values() if len(group) > 1]
    # In the order of the survey, so that sums come out alike.
    return sorted(found)


def _without_blunders(
    points: Points, claimed: PointUncertainty, groups: list[list[int]]
) -> list[list[int]]:
    """The groups whose scatter the others bear out, by the F ratio at 0.1 % for all together."""
    kept = list(groups)
    while len(kept) > 1:
        parts = [_pooled(points, claimed, [group]) for group in kept]
        worst = max(range(len(kept)), key=lambda k: parts[k][0] / parts[k][1])
        square, freedom = parts[worst]
        rest = sum(part for part, _ in parts) - square
        others = sum(degrees for _, degrees in parts) - freedom
        ratio = square / freedom / max(1.0, rest / others)
        if ratio <= f_limit(TAIL / len(groups), freedom, others):
            break
        del kept[worst]
    return kept


def _pooled(
    points: Points, claimed: PointUncertainty, groups: list[list[int]]
) -> tuple[float | Floats, int]:
    """Sum of squares about the weighted means over the claims, and its degrees of freedom."""
    squares, freedom = 0.0, 0
    for group in groups:
        xyz = points.survey.xyz[group]
        weights = 1.0 / claimed.variance[group]
        difference = xyz - weights @ xyz / weights.sum()
        for i, row in zip(group, difference, strict=True):
            covariance = claimed.covariance.get(i)
            if covariance is None:
                squares += float(row @ row / claimed.variance[i])
            else:
                squares += float(row @ np.linalg.solve(covariance, row))
        freedom += 3 * (len(group) - 1)
    return squares, freedom
