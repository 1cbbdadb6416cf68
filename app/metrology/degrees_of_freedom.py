"""Effective degrees of freedom of a combined standard uncertainty."""

import math

import numpy as np
from numpy.typing import ArrayLike


def welch_satterthwaite(contributions: ArrayLike, degrees_of_freedom: ArrayLike) -> float:
    """Effective degrees of freedom of independent contributions to one uncertainty.

    contributions: (n,), the standard uncertainties times their sensitivities, never rounded;
    degrees_of_freedom: (n,), infinite where an uncertainty is taken as known. Returns infinity
    when all are. Not truncated. Formula: JCGM 100:2008, equation (G.2b).
    """
    parts = np.asarray(contributions, dtype=float) ** 2
    spread = float(np.sum(parts**2 / np.asarray(degrees_of_freedom, dtype=float)))
    return math.inf if spread == 0.0 else float(np.sum(parts)) ** 2 / spread
