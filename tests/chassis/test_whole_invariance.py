"""Where the instrument stands, and in which order and under which names the points of a whole
machine or of a part of it were taken, must not show in the result."""

from functools import cache
from random import Random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.chassis.evaluate import evaluate
from app.chassis.result import Result
from app.chassis.survey import Survey
from app.demonstration.machine_survey import measure
from app.demonstration.vectors import turned
from tests.chassis.seen_again import (
    in_order,
    largest_change_of_u,
    largest_difference,
    moved,
    stations_called,
)
from tests.demonstration.machines import BENT
from tests.simulation.machines import OTHERS, WHOLE

MEASURINGS = {"whole": WHOLE, **OTHERS}
SAME = 1e-9
"""mm and degrees."""
SAME_U = 1e-7

EXAMPLES = settings(max_examples=40, deadline=None, derandomize=True)
names = st.sampled_from(sorted(MEASURINGS))
turns = st.lists(st.floats(-3.0, 3.0), min_size=3, max_size=3)
ten_metres = st.lists(st.floats(-5700.0, 5700.0), min_size=3, max_size=3)


@cache
def survey_of(name: str) -> Survey:
    return measure(BENT, MEASURINGS[name].extent, np.random.default_rng(31)).survey


@cache
def result_of(name: str) -> Result:
    return evaluate(survey_of(name), MEASURINGS[name].reference)


def require_same(name: str, again: Survey) -> None:
    found = evaluate(again, MEASURINGS[name].reference)
    assert largest_difference(found, result_of(name)) <= SAME
    assert largest_change_of_u(found, result_of(name)) <= SAME_U
    assert found.covariance == pytest.approx(result_of(name).covariance, rel=1e-6, abs=1e-9)


@EXAMPLES
@given(names, turns, ten_metres)
def test_no_motion_within_ten_metres_shows(name: str, turn: list[float], way: list[float]) -> None:
    require_same(name, moved(survey_of(name), turned(turn), np.array(way)))


@pytest.mark.parametrize("name", MEASURINGS)
def test_ten_metres_away_and_upside_down_shows_nowhere(name: str) -> None:
    over = turned([np.pi, 0.0, 0.0])
    require_same(name, moved(survey_of(name), over, np.array([5000.0, -7000.0, 5000.0])))


@EXAMPLES
@given(names, st.permutations([0, 1, 2]), st.tuples(*[st.sampled_from([1.0, -1.0])] * 2))
def test_the_instruments_axes_may_lie_anyhow(
    name: str, order: list[int], signs: tuple[float, float]
) -> None:
    """Any right-handed exchange of its axes."""
    axes = np.eye(3)[order] * [*signs, 1.0]
    axes[:, 2] *= round(np.linalg.det(axes))
    require_same(name, moved(survey_of(name), axes, np.zeros(3)))


@EXAMPLES
@given(names, st.randoms(use_true_random=False))
def test_the_order_of_the_points_shows_nowhere(name: str, random: Random) -> None:
    order = list(range(len(survey_of(name).feature)))
    random.shuffle(order)
    require_same(name, in_order(survey_of(name), order))


@EXAMPLES
@given(
    st.sampled_from(["whole", "one_edge", "seen_badly_in_depth"]),
    st.permutations(["a", "zebra", "9", "0", "m_1"]),
)
def test_the_names_of_stations_show_nowhere(name: str, called: list[str]) -> None:
    names = {str(number): word for number, word in enumerate(called, 1)} | {"return": "return7"}
    require_same(name, stations_called(survey_of(name), names))
