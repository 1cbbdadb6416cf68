"""Effective degrees of freedom of a combined standard uncertainty."""

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray


def welch_satterthwaite(contributions: ArrayLike, degrees_of_freedom: ArrayLike) -> float:
    """Effective degrees of freedom of independent contributions to one uncertainty.

    contributions: (n,), the standard uncertainties times their sensitivities, never rounded;
    degrees_of_freedom: (n,), infinite where an uncertainty is taken as known. Returns infinity
    when all are. Not truncated. Formula: JCGM 100:2008, equation (G.2b).
    """
    one = np.asarray(contributions, dtype=float)[:, np.newaxis]
    return float(effective_degrees_of_freedom(one, degrees_of_freedom)[0])


def effective_degrees_of_freedom(
    contributions: ArrayLike, degrees_of_freedom: ArrayLike
) -> NDArray[np.float64]:
    """The same (k,) for k uncertainties that rest on the same n estimates.

    contributions: (n, k); degrees_of_freedom: (n,).
    """
    parts = np.asarray(contributions, dtype=float) ** 2
    freedoms = np.asarray(degrees_of_freedom, dtype=float)[:, np.newaxis]
    spread = (parts**2 / freedoms).sum(axis=0)
    total = parts.sum(axis=0) ** 2
    found: NDArray[np.float64] = np.full(len(total), math.inf)
    np.divide(total, spread, out=found, where=spread != 0.0)
    return found
