"""Points as the fits take them: all in one array, with their variances."""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from app.geometry.dual import Floats, Vector
from app.geometry.undetermined import TooFewPoints

SPREAD_NEEDED_U = 3.0
"""Points nearer to one another than this many of their standard uncertainties tell no direction."""


class Stacked(NamedTuple):
    """places: (k, 3), or (k, 3, trials); slopes: (3 k, n), or None; variances: (k,), mm², a third
    of the trace where covariances (k, 3, 3) were given, which are then there too."""

    places: Floats
    slopes: Floats | None
    variances: Floats
    covariances: Floats | None

    @property
    def weights(self) -> Floats:
        """(k,): of the mean, by the variances; their sum is one."""
        weights = 1.0 / self.variances
        return np.asarray(weights / weights.sum())

    @property
    def of_mean(self) -> Floats:
        """(3, 3 k): derivatives of the weighted mean by the places."""
        return np.asarray((np.eye(3)[:, np.newaxis] * self.weights[:, np.newaxis]).reshape(3, -1))

    @property
    def middle(self) -> Floats:
        """(k, 3): the places themselves, or their means over the trials."""
        return self.places if self.places.ndim == 2 else np.asarray(self.places.mean(axis=2))


def stacked(points: Sequence[Vector], spread: Floats, needed: int) -> Stacked:
    """points: k of them, all in one state, or constant; spread: (k,) variances of a coordinate or
    (k, 3, 3) covariances, mm². Raises TooFewPoints."""
    if len(points) < needed:
        raise TooFewPoints(len(points), needed)
    places = _places([point.value for point in points])
    slopes = _slopes([point.slopes for point in points])
    return Stacked(places, slopes, variances(spread), None if spread.ndim == 1 else spread)


def variances(spread: Floats) -> Floats:
    """(k,), mm²: the variances themselves, or a third of the trace of covariances."""
    return spread if spread.ndim == 1 else np.trace(spread, axis1=1, axis2=2) / 3.0


def _places(values: list[Floats]) -> Floats:
    if len({value.shape for value in values}) == 1:
        return np.array(values)
    trials = max(value.shape[-1] for value in values if value.ndim == 2)
    spread_out = [v if v.ndim == 2 else np.repeat(v[:, np.newaxis], trials, 1) for v in values]
    return np.array(spread_out)


def _slopes(slopes: list[Floats | None]) -> Floats | None:
    given = [one for one in slopes if one is not None]
    if len(given) == len(slopes):
        return np.concatenate(given)
    if not given:
        return None
    none = np.zeros_like(given[0])
    return np.concatenate([none if one is None else one for one in slopes])


def frame_along(direction: Floats) -> Floats:
    """(3, 3): two rows square to the unit vector (3,) and to one another, and itself.

    Right-handed. Formula: T. Duff and others, J. Computer Graphics Techniques 6 (2017) 1-8.
    """
    x, y, z = direction.tolist()
    sign = -1.0 if z < 0.0 else 1.0
    a = -1.0 / (sign + z)
    b = x * y * a
    first = (1.0 + sign * x * x * a, sign * b, -sign * x)
    return np.array((first, (b, sign + y * y * a, -y), (x, y, z)))
