"""Any part of a whole survey gives an honest result or a refusal, and nothing else."""

from dataclasses import replace
from random import Random

import numpy as np
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from app.chassis.evaluate import evaluate
from app.chassis.result import Result
from app.chassis.survey import Options, Survey
from app.demonstration.elements import Head
from app.demonstration.fork_truth import fork_values
from app.demonstration.machine import Fork
from app.demonstration.machine_survey import Measured, measure
from app.demonstration.machine_truth import Terms, true_values
from app.errors import Refusal
from tests.chassis.degenerate import FARTHEST_OFF
from tests.chassis.seen_again import in_order
from tests.demonstration.machines import BENT
from tests.simulation.machines import BY_ANGLE, BY_CONTROL, BY_HEIGHT, BY_LINE, WHOLE, Measuring

SETTINGS = settings(
    max_examples=100, deadline=None, derandomize=True, phases=[Phase.explicit, Phase.generate]
)
EXTENT = replace(
    WHOLE.extent,
    rig=replace(WHOLE.extent.rig, bore_mm=(5.0, 90.0, 160.0), head_face_points=3, face_points=2),
    axis_points=3,
    rim_points=4,
    half_turn=True,
    returned=("control", "pair", "rear_axle", "axle_face", "axis", "level_line", "front_rim"),
)
DATUM = ("pivot", "pivot_face")
TERMS = st.sampled_from([BY_CONTROL, BY_LINE, BY_HEIGHT, BY_ANGLE])
seeds, shares = st.integers(0, 10**6), st.floats(0.05, 1.0)
randoms = st.randoms(use_true_random=False)


def made(seed: int) -> Measured:
    return measure(BENT, EXTENT, np.random.default_rng(seed))


def require_honest(whole: Measured, places: list[int], terms: Terms) -> None:
    part = in_order(whole.survey, places)
    try:
        result = evaluate(part, Measuring(EXTENT, terms).reference, Options(monte_carlo=0))
    except Refusal:
        return
    true = _true(whole, part, terms)
    assumed = {"axle_ends_assumed_symmetric": {"axle_offset"}}
    warned = {key for warning in result.warnings for key in assumed.get(warning.code, ())}
    _require_near(result, {key: value for key, value in true.items() if key not in warned})


def _true(whole: Measured, part: Survey, terms: Terms) -> dict[str, float]:
    """The frame is levelled by those of its control points that were measured."""
    rows = zip(part.feature, part.label, part.station, strict=True)
    known = {label for feature, label, station in rows if feature == "control" and not station}
    controls = {name: at for name, at in terms.controls.items() if name in known}
    fork = fork_values(BENT.fork or Fork(), Head.of(BENT.head), whole.session.legs)
    return true_values(BENT, replace(terms, controls=controls)) | dict(fork)


def _require_near(result: Result, true: dict[str, float]) -> None:
    for item in result.characteristics:
        assert np.isfinite([item.value, item.standard_uncertainty]).all(), item.key
        if item.key in true and not item.set_by_levelling:
            reach = max(FARTHEST_OFF * item.standard_uncertainty, 3.0 * item.expanded_uncertainty)
            assert abs(item.value - true[item.key]) <= reach, item.key


@SETTINGS
@given(seeds, TERMS, shares, randoms)
def test_some_features_beside_the_datum(
    seed: int, terms: Terms, share: float, random: Random
) -> None:
    whole = made(seed)
    feature = whole.survey.feature
    names = {name for name in sorted(set(feature)) if random.random() < share}
    places = [i for i, name in enumerate(feature) if name in names or name in DATUM]
    require_honest(whole, places, terms)


@SETTINGS
@given(seeds, TERMS, shares, randoms)
def test_any_points_in_any_order(seed: int, terms: Terms, share: float, random: Random) -> None:
    whole = made(seed)
    feature = whole.survey.feature
    places = [i for i, name in enumerate(feature) if name in DATUM or random.random() < share]
    random.shuffle(places)
    require_honest(whole, places, terms)
