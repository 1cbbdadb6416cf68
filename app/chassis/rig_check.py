"""Did the set-up stand still? Points measured again are held against the first ones.

Steering and datum are tested apart. The statistic is how much the weighted sum of squares grows
when the returned points join the estimate; its degrees of freedom are the observations added less
the unknowns added. A little more scatter than claimed must not read as movement: where the noise
check is doubtful, the statistic is the F ratio against the scatter found.
"""

import math
from collections.abc import Callable, Sequence
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from scipy.special import chndtrinc, ndtri

from app.chassis.noise_check import Noise, limit_of
from app.chassis.result import RigCheck
from app.chassis.survey import Floats
from app.metrology.type_a import chi_square_tail, f_limit, f_tail

TAIL = 0.001
CAUGHT = 0.9
LARGEST_NON_CENTRALITY = 9999.0
BLIND = 1e-3
"""A direction in which a slip must be over thirty times larger than in the best one is blind."""


class Repeat(NamedTuple):
    """What the returns of one group (steering or datum) add.

    statistic: growth of chi-square; slip: () -> (3, 3), mm⁻²: the non-centrality that a slip d of
    the returned points makes is d' slip d; whenever: they see a slip whenever it happened, as the
    datum is measured first, and what came after a slip does not show it.
    """

    statistic: float
    degrees_of_freedom: int
    slip: Callable[[], Floats]
    whenever: bool = True


class Tested(NamedTuple):
    """Chi-square, or the F ratio against the scatter found; p: of so much or more by chance."""

    statistic: float
    limit: float
    p: float
    degrees_of_freedom: int


def rig_check(steering: Repeat | None, datum: Repeat | None, noise: Noise) -> RigCheck:
    """Test each group at 0.1 %; show the one with the smaller p; moved when either is.

    The slip that would have been caught is a shift of the set-up between the first measurement
    and the return. Where the datum was measured again, it is told for the datum alone, which sees
    a slip whenever it happened; the returned steering does not see one before its own stations.
    """
    groups = [group for group in (steering, datum) if group and group.degrees_of_freedom > 0]
    if not groups:
        return RigCheck("not_checked", "none", None, None, None, None)
    tests = [tested(group.statistic, group.degrees_of_freedom, noise) for group in groups]
    shown = min(tests, key=lambda test: test.p)
    scope = {(True, True): "datum_and_steering", (True, False): "steering_only"}.get(
        (steering in groups, datum in groups), "datum_only"
    )
    slip, direction = _detectable(datum if datum in groups else groups[0], noise)
    return RigCheck(
        "moved" if any(test.statistic > test.limit for test in tests) else "steady",
        scope,
        shown.statistic,
        shown.limit,
        shown.degrees_of_freedom,
        slip,
        direction,
        noise.doubtful,
    )


def joined(parts: Sequence[Repeat]) -> Repeat | None:
    """Independent returns of one group, tested together; what they see of a slip is told by those
    that see it whenever it happened, where there are any."""
    if not parts:
        return None
    seeing = [part for part in parts if part.whenever] or parts
    return Repeat(
        sum(part.statistic for part in parts),
        sum(part.degrees_of_freedom for part in parts),
        lambda: sum([part.slip() for part in seeing[1:]], seeing[0].slip()),
    )


def tested(growth: float, freedom: int, noise: Noise) -> Tested:
    """The growth of chi-square by so many degrees of freedom, against its limit at 0.1 %."""
    check = noise.check
    if noise.doubtful and check.statistic and check.degrees_of_freedom:
        ratio = growth / freedom / (check.statistic / check.degrees_of_freedom)
        return Tested(
            ratio,
            f_limit(TAIL, freedom, check.degrees_of_freedom),
            f_tail(ratio, freedom, check.degrees_of_freedom),
            freedom,
        )
    statistic = max(0.0, growth)
    return Tested(statistic, limit_of(TAIL, freedom), chi_square_tail(statistic, freedom), freedom)


def _detectable(
    group: Repeat | None, noise: Noise
) -> tuple[float | None, tuple[float, float, float] | None]:
    """The slip caught nine times in ten in the weakest direction that is not blind, mm."""
    if group is None:
        return None, None
    sizes, direction = np.linalg.eigh(group.slip())
    size: list[float] = sizes.tolist()
    weakest = next((place for place, one in enumerate(size) if one > BLIND * size[-1]), 0)
    if not size[weakest] > 0.0:
        return None, None
    needed = _non_centrality(_limit(group.degrees_of_freedom, noise), group.degrees_of_freedom)
    slip = math.sqrt(needed / size[weakest]) * noise.birge_ratio
    x, y, z = direction[:, weakest].tolist()
    return slip, (x, y, z)


def _limit(freedom: int, noise: Noise) -> float:
    """The limit of the growth of chi-square itself, true uncertainties being the unit.

    Held against the scatter, the test's limit is the F ratio's times the scatter that was found:
    by the time a slip is asked about, that scatter is a known number.
    """
    check = noise.check
    if not (noise.doubtful and check.statistic and check.degrees_of_freedom):
        return limit_of(TAIL, freedom)
    scatter = check.statistic / check.degrees_of_freedom / noise.birge_ratio**2
    return freedom * scatter * f_limit(TAIL, freedom, check.degrees_of_freedom)


@lru_cache(maxsize=256)
def _non_centrality(limit: float, freedom: int) -> float:
    """The non-centrality with which chi-square exceeds its limit nine times in ten.

    Where it is too large for the series (the scatter rests on a few degrees of freedom), the root
    of chi-square is as good as normal about the root of the non-centrality and the degrees of
    freedom less one, with unit variance (R. A. Fisher's approximation; from memory).
    """
    needed = float(chndtrinc(limit, freedom, 1.0 - CAUGHT))
    if needed < LARGEST_NON_CENTRALITY:
        return needed
    return float((math.sqrt(limit) + ndtri(CAUGHT)) ** 2) - (freedom - 1)
