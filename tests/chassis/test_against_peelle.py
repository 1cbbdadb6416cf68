"""Two values with a common error, combined: the puzzle that R. W. Peelle posed.

R. W. Peelle, "Peelle's Pertinent Puzzle", informal memorandum, Oak Ridge National Laboratory, 1987;
from memory. Values 1.5 and 1.0, each with 10 % of its own and 20 % in common: least squares with
the full covariance gives 0.88 with standard uncertainty 0.22.
"""

import numpy as np
import pytest

from app.chassis.combining import combined
from app.chassis.evaluate import evaluate
from app.chassis.result import Result, Shared
from app.chassis.sharing import Session
from app.chassis.survey import Options, Reference
from app.demonstration.simulator import Pose, Rig, simulate

KEY = "pivot_width"


def reading(value: float) -> Result:
    """A survey of one characteristic, with the numbers of the puzzle in place of its own."""
    bare = Rig(targets=(), head_face_points=0)
    survey = simulate(Pose(), bare, np.random.default_rng(1)).survey
    result = evaluate(survey, Reference(), Options(shared=True))
    (item,) = [one for one in result.characteristics if one.key == KEY]
    own, common = 0.1 * value, 0.2 * value
    u = float(np.hypot(own, common))
    return result._replace(
        characteristics=(item._replace(value=value, standard_uncertainty=u),),
        covariance_keys=(KEY,),
        covariance=np.array([[u * u]]),
        shared=Shared(("instrument_scale",), np.array([[common]])),
    )


def test_least_squares_with_the_full_covariance_gives_peelles_answer() -> None:
    sessions = [Session(reading(value), "one instrument") for value in (1.5, 1.0)]
    made = combined(sessions, Reference())
    (item,) = made.result.characteristics
    assert item.value == pytest.approx(0.88, abs=0.005)
    assert item.standard_uncertainty == pytest.approx(0.22, abs=0.005)
    assert made.consistency is not None
    # Their difference squared over its variance, worked by hand: 0.25 / 0.0425.
    assert made.consistency.statistic == pytest.approx(0.25 / 0.0425, rel=1e-9)


def test_without_a_common_error_it_is_the_mean_weighted_by_variances() -> None:
    sessions = [Session(reading(value), name) for value, name in ((1.5, "a"), (1.0, "b"))]
    (item,) = combined(sessions, Reference()).result.characteristics
    weights = [1.0 / (0.05 * value**2) for value in (1.5, 1.0)]
    assert item.value == pytest.approx((1.5 * weights[0] + weights[1]) / sum(weights), rel=1e-9)
    assert item.standard_uncertainty == pytest.approx(sum(weights) ** -0.5, rel=1e-9)
