"""Is a quantity within its limits? Probabilities and verdicts in the manner of JCGM 106:2012.

The limits are allowed deviations from nominal; the knowledge of the deviation is a normal
distribution about the measured value, or a scaled and shifted Student distribution where the
standard uncertainty itself rests on few degrees of freedom.
"""

import math
from functools import lru_cache
from typing import NamedTuple

from scipy.special import ndtri, stdtr, stdtrit

from app.metrology.joint_probability import NORMAL_FROM, joint_probability

__all__ = [
    "Probabilities",
    "Verdict",
    "cannot_decide",
    "coverage_factor",
    "joint_probability",
    "probabilities",
    "verdict",
]

SQRT_HALF = math.sqrt(0.5)


class Probabilities(NamedTuple):
    within: float
    above: float
    below: float


class Verdict(NamedTuple):
    code: str
    """`within`, `outside` or `undecided`."""
    side: str | None
    """`above` or `below` when outside."""


WITHIN, UNDECIDED = Verdict("within", None), Verdict("undecided", None)
ABOVE, BELOW = Verdict("outside", "above"), Verdict("outside", "below")


def probabilities(
    deviation: float,
    standard_uncertainty: float,
    degrees_of_freedom: float | None,
    lower: float | None,
    upper: float | None,
) -> Probabilities:
    """Probabilities that the true deviation lies within, above and below the limits.

    Limits None: absent on that side. degrees_of_freedom None: infinite; Student's distribution
    is used under 50 (JCGM 106:2012, 7.3 and 7.4, clause numbers from memory).
    """
    u, nu = standard_uncertainty, degrees_of_freedom
    if u == 0.0:
        return _certain(deviation, lower, upper)
    if nu is None or nu >= NORMAL_FROM:
        above = 0.0 if upper is None else 0.5 * math.erfc((upper - deviation) / u * SQRT_HALF)
        below = 0.0 if lower is None else 0.5 * math.erfc((deviation - lower) / u * SQRT_HALF)
    else:
        above = 0.0 if upper is None else float(stdtr(nu, (deviation - upper) / u))
        below = 0.0 if lower is None else float(stdtr(nu, (lower - deviation) / u))
    return Probabilities(max(0.0, 1.0 - above - below), above, below)


def _certain(deviation: float, lower: float | None, upper: float | None) -> Probabilities:
    above = upper is not None and deviation > upper
    below = lower is not None and deviation < lower
    return Probabilities(float(not above and not below), float(above), float(below))


def verdict(probability: Probabilities, threshold: float) -> Verdict:
    """`within`, `outside` (with its side) or `undecided`, by the probability asked for."""
    if probability.within >= threshold:
        return WITHIN
    if probability.above >= threshold:
        return ABOVE
    return BELOW if probability.below >= threshold else UNDECIDED


def cannot_decide(expanded_uncertainty: float, lower: float | None, upper: float | None) -> bool:
    """Whether the expanded uncertainty exceeds half the width of a two-sided tolerance."""
    return lower is not None and upper is not None and expanded_uncertainty > (upper - lower) / 2.0


@lru_cache(maxsize=256)
def coverage_factor(degrees_of_freedom: float | None, p: float = 0.95) -> float:
    """Two-sided factor k of the expanded uncertainty U = k u (JCGM 100:2008, annex G).

    degrees_of_freedom None or infinite: normal; otherwise Student, also for a fraction.
    """
    if degrees_of_freedom is None or math.isinf(degrees_of_freedom):
        return float(ndtri((1.0 + p) / 2.0))
    return float(stdtrit(degrees_of_freedom, (1.0 + p) / 2.0))
