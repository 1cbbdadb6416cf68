"""Do the points scatter as much as their uncertainties claim?"""

import math
from collections.abc import Iterable
from functools import lru_cache
from typing import NamedTuple

from app.chassis.result import NoiseCheck
from app.metrology.type_a import chi_square_limit

TAIL = 0.001
DOUBTFUL_TAIL = 0.05


class Noise(NamedTuple):
    """The check, and what follows for the uncertainties and for the test of the set-up.

    birge_ratio: factor on the uncertainties, 1 when they are as claimed; doubtful: from the 95 %
    limit on, when movement is to be judged against the scatter found.
    """

    check: NoiseCheck
    birge_ratio: float
    doubtful: bool


def noise_check(parts: Iterable[tuple[float, int]]) -> Noise:
    """From the chi-square and the degrees of freedom of each part of the estimate.

    The Birge ratio is the root of chi-square over its degrees of freedom (R. T. Birge, Phys. Rev.
    40 (1932) 207-227; from memory).
    """
    statistic, freedom = 0.0, 0
    for chi_square, degrees in parts:
        if degrees > 0:
            statistic, freedom = statistic + chi_square, freedom + degrees
    if freedom == 0:
        return Noise(NoiseCheck("not_checked", None, None, None), 1.0, False)
    limit = limit_of(TAIL, freedom)
    noisier = statistic >= limit
    return Noise(
        NoiseCheck("noisier" if noisier else "as_claimed", statistic, limit, freedom),
        math.sqrt(statistic / freedom) if noisier else 1.0,
        statistic >= limit_of(DOUBTFUL_TAIL, freedom),
    )


@lru_cache(maxsize=256)
def limit_of(tail: float, degrees_of_freedom: int) -> float:
    """The value that chi-square exceeds with probability `tail`."""
    return chi_square_limit(tail, degrees_of_freedom)
