"""Thousands of surveys of a whole machine: what the engine claims must be what happens.

Every characteristic is found in 4,000 surveys of the whole machine, 1,000 of which are answered by
trials as well; 200 of each further rig show that other ways of measuring do no worse.
"""

import math
from collections import defaultdict
from dataclasses import dataclass, field, replace

import numpy as np
import pytest

from app.chassis.evaluate import evaluate
from app.chassis.result import Result
from app.chassis.survey import Floats, Options
from app.chassis.trials import run
from app.demonstration.elements import Head
from app.demonstration.fork_truth import fork_values
from app.demonstration.handling_truth import handling_values
from app.demonstration.machine import Fork
from app.demonstration.machine_survey import Measured, measure
from app.demonstration.machine_truth import true_values
from app.demonstration.session import draw_session
from tests.demonstration.machines import BENT
from tests.simulation.machines import OF_EACH_KIND, OTHERS, RUNNING, WHOLE, Measuring

SURVEYS, BY_TRIALS, FEWER, SLIPS = 4000, 1000, 200, 120
TRIALS = 1000
CHARACTERISTICS = 43
NO_MORE_THAN = 4.5
"""Standard deviations by which a share of few surveys may lie off 95 %, over hundreds of shares."""
HALF_WIDTH = 1.959964
"""Of an interval for 95 %, in standard deviations of a normal distribution."""


@dataclass
class Outcome:
    """Over all surveys of one rig: hits and errors over u, by characteristic; and false alarms."""

    covered: dict[str, list[bool]] = field(default_factory=lambda: defaultdict(list))
    by_trials: dict[str, list[bool]] = field(default_factory=lambda: defaultdict(list))
    scores: dict[str, list[float]] = field(default_factory=lambda: defaultdict(list))
    handling: dict[str, list[float]] = field(default_factory=lambda: defaultdict(list))
    errors: list[list[float]] = field(default_factory=list)
    covariance: Floats | float = 0.0
    """Summed over the surveys whose errors are kept."""
    moved: int = 0
    noisier: int = 0

    def add(self, result: Result, true: dict[str, float]) -> None:
        assert {item.key for item in result.characteristics} <= set(true)
        for key, (low, high) in first_order(result).items():
            self.covered[key].append(low <= true[key] <= high)
            half = 0.5 * (high - low) / HALF_WIDTH
            self.scores[key].append((0.5 * (low + high) - true[key]) / half)
        for told in result.monte_carlo.characteristics if result.monte_carlo else ():
            self.by_trials[told.key].append(told.low <= true[told.key] <= told.high)
        if result.monte_carlo is None:
            self.errors.append([item.value - true[item.key] for item in result.characteristics])
            self.covariance = self.covariance + result.covariance
        self.moved += result.rig_check.verdict == "moved"
        self.noisier += result.noise_check.verdict == "noisier"

    def add_handling(self, result: Result, true: dict[str, float]) -> None:
        assert {figure.name for figure in result.handling} == set(true)
        for figure in result.handling:
            error = figure.value - true[figure.name]
            self.handling[figure.name].append(error / figure.standard_uncertainty)


def first_order(result: Result) -> dict[str, tuple[float, float]]:
    """Intervals for 95 %, of what levelling does not set."""
    if result.monte_carlo is not None:
        told = result.monte_carlo.characteristics
        return {one.key: (one.first_order_low, one.first_order_high) for one in told}
    found = [item for item in result.characteristics if not item.set_by_levelling]
    return {
        item.key: (item.value - item.expanded_uncertainty, item.value + item.expanded_uncertainty)
        for item in found
    }


def outcome(measuring: Measuring, seed: int, surveys: int, by_trials: int = 0) -> Outcome:
    """The first surveys are answered by trials as well."""
    rng, found, machine = np.random.default_rng(seed), Outcome(), measuring.machine
    always, reference = true_values(machine, measuring.terms), measuring.reference
    for number in range(surveys):
        made = measure(machine, measuring.extent, rng)
        options = Options(monte_carlo=TRIALS if number < by_trials else 0, seed=number)
        result = evaluate(made.survey, reference, options)
        found.add(result, always | _of_these_legs(made))
        if measuring is OF_EACH_KIND:
            running = handling_values(machine, always["head_angle"], RUNNING)
            found.add_handling(result, running)
    return found


def _of_these_legs(made: Measured) -> dict[str, float]:
    """The fork is what its measured places make of it."""
    return dict(
        fork_values(made.machine.fork or Fork(), Head.of(made.machine.head), made.session.legs)
    )


@pytest.fixture(scope="module")
def whole() -> Outcome:
    """The trials of one survey are few, and so made in one smaller piece."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(run, "TOGETHER", TRIALS)
        return outcome(OF_EACH_KIND, 51, SURVEYS, BY_TRIALS)


@pytest.mark.simulation
def test_first_order_covers_every_characteristic_of_a_whole_machine(whole: Outcome) -> None:
    assert len(whole.covered) == CHARACTERISTICS
    for key, hits in whole.covered.items():
        assert len(hits) == SURVEYS
        assert 0.93 <= np.mean(hits) <= 0.97, key
        assert np.std(whole.scores[key]) == pytest.approx(1.0, abs=0.05), key
        assert abs(np.mean(whole.scores[key])) <= NO_MORE_THAN / math.sqrt(SURVEYS), key
    assert whole.moved <= SURVEYS / 200
    assert whole.noisier <= SURVEYS / 200


@pytest.mark.simulation
def test_characteristics_miss_the_truth_together_as_their_covariance_says(whole: Outcome) -> None:
    """All 903 correlations at once; a correlation of n pairs scatters by 1 / sqrt(n)."""
    assert not isinstance(whole.covariance, float)
    spread = np.sqrt(np.diag(whole.covariance))
    claimed = whole.covariance / np.outer(spread, spread)
    happened = np.corrcoef(np.array(whole.errors).T)
    assert np.abs(claimed - np.eye(CHARACTERISTICS)).max() > 0.8
    off = np.abs(happened - claimed) * math.sqrt(len(whole.errors))
    assert off.max() <= NO_MORE_THAN


@pytest.mark.simulation
def test_handling_figures_scatter_as_claimed(whole: Outcome) -> None:
    assert len(whole.handling) == 5
    for name, scores in whole.handling.items():
        assert np.std(scores) == pytest.approx(1.0, abs=0.05), name
        assert abs(np.mean(scores)) <= NO_MORE_THAN / math.sqrt(SURVEYS), name


@pytest.mark.simulation
def test_trials_cover_every_characteristic_of_a_whole_machine(whole: Outcome) -> None:
    assert len(whole.by_trials) == CHARACTERISTICS
    for key, hits in whole.by_trials.items():
        assert len(hits) == BY_TRIALS
        assert 0.925 <= np.mean(hits) <= 0.975, key


@pytest.mark.simulation
@pytest.mark.parametrize("name", OTHERS)
def test_other_ways_of_measuring_are_covered_as_claimed(name: str) -> None:
    found = outcome(OTHERS[name], 60 + list(OTHERS).index(name), FEWER)
    assert found.covered
    off = NO_MORE_THAN * math.sqrt(0.05 * 0.95 / FEWER)
    for key, hits in found.covered.items():
        assert len(hits) == FEWER
        assert np.mean(hits) == pytest.approx(0.95, abs=off), key
    together = np.mean([hit for hits in found.covered.values() for hit in hits])
    assert together == pytest.approx(0.95, abs=0.015)
    assert found.moved <= FEWER / 50
    assert found.noisier <= FEWER / 50


@pytest.mark.simulation
def test_a_slip_after_the_datum_is_caught_whatever_else_was_measured_again() -> None:
    """What a survey prints is held against the same survey with that slip before all but the datum:
    then only the returned datum shows it, and other returns agree with what came first."""
    measuring = OTHERS["seen_badly_in_depth"]
    rig = replace(measuring.extent.rig, slipped_before="steering")
    extent, rng = replace(measuring.extent, rig=rig), np.random.default_rng(90)
    caught = []
    for number in range(SLIPS):
        session = draw_session(BENT, extent, rng)
        still = measure(BENT, extent, np.random.default_rng((number, SLIPS)), session)
        printed = evaluate(still.survey, measuring.reference).rig_check
        assert printed.detectable_slip_mm is not None
        direction = session.head.orientation.T @ np.array(printed.weakest_direction)
        head = replace(session.head, slip=printed.detectable_slip_mm * direction)
        slipped = replace(session, head=head)
        again = measure(BENT, extent, np.random.default_rng((number, SLIPS)), slipped)
        caught.append(evaluate(again.survey, measuring.reference).rig_check.verdict == "moved")
    off = NO_MORE_THAN * math.sqrt(0.1 * 0.9 / SLIPS)
    assert np.mean(caught) == pytest.approx(0.9, abs=off)


@pytest.mark.simulation
@pytest.mark.parametrize(
    ("replicates", "told"), [(1, "noisier_than_claimed"), (4, "replicates_scatter")]
)
def test_who_claims_too_little_is_covered_all_the_same(replicates: int, told: str) -> None:
    """The points scatter by 0.25 mm where 0.1 mm is claimed: fits and replicates show it."""
    rig = replace(WHOLE.extent.rig, noise_mm=0.25)
    extent = replace(WHOLE.extent, rig=rig, replicates=replicates)
    rng, found = np.random.default_rng(70 + replicates), Outcome()
    always, warned = true_values(BENT, WHOLE.terms), 0
    for _ in range(FEWER // 2):
        made = measure(BENT, extent, rng)
        claim = replace(made.survey.instrument, standard_uncertainty_mm=0.1)
        result = evaluate(replace(made.survey, instrument=claim), WHOLE.reference)
        found.add(result, always | _of_these_legs(made))
        warned += told in [warning.code for warning in result.warnings]
    assert warned >= 0.95 * (FEWER // 2)
    together = np.mean([hit for hits in found.covered.values() for hit in hits])
    assert together == pytest.approx(0.95, abs=0.02)
    assert found.moved <= FEWER / 50
