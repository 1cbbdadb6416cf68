"""Thousands of surveys of a whole machine: what the engine claims must be what happens.

Every characteristic is found in 4,000 surveys of the whole machine; 500 of each further rig show
that other ways of measuring do no worse.
"""

import math
from collections import defaultdict
from dataclasses import dataclass, field

import numpy as np
import pytest

from app.chassis.evaluate import evaluate
from app.chassis.result import Result
from app.demonstration.elements import Head
from app.demonstration.fork_truth import fork_values
from app.demonstration.machine import Fork
from app.demonstration.machine_survey import Measured, measure
from app.demonstration.machine_truth import true_values
from tests.demonstration.machines import BENT
from tests.simulation.machines import OTHERS, WHOLE, Measuring

SURVEYS, FEWER = 4000, 500
CHARACTERISTICS = 52
NO_MORE_THAN = 4.5
"""Standard deviations by which a share of few surveys may lie off 95 %, over hundreds of shares."""


@dataclass
class Outcome:
    """Over all surveys of one rig: hits and errors over u, by characteristic; and false alarms."""

    covered: dict[str, list[bool]] = field(default_factory=lambda: defaultdict(list))
    scores: dict[str, list[float]] = field(default_factory=lambda: defaultdict(list))
    moved: int = 0
    noisier: int = 0

    def add(self, result: Result, true: dict[str, float]) -> None:
        assert {item.key for item in result.characteristics} <= set(true)
        for item in result.characteristics:
            if not item.set_by_levelling:
                error = item.value - true[item.key]
                self.covered[item.key].append(abs(error) <= item.expanded_uncertainty)
                self.scores[item.key].append(error / item.standard_uncertainty)
        self.moved += result.rig_check.verdict == "moved"
        self.noisier += result.noise_check.verdict == "noisier"


def outcome(measuring: Measuring, seed: int, surveys: int) -> Outcome:
    rng, found = np.random.default_rng(seed), Outcome()
    always = true_values(BENT, measuring.terms)
    for _ in range(surveys):
        made = measure(BENT, measuring.extent, rng)
        found.add(evaluate(made.survey, measuring.reference), always | _of_these_legs(made))
    return found


def _of_these_legs(made: Measured) -> dict[str, float]:
    """The fork is what its measured places make of it."""
    return dict(
        fork_values(made.machine.fork or Fork(), Head.of(made.machine.head), made.session.legs)
    )


@pytest.mark.simulation
def test_every_characteristic_of_a_whole_machine_is_covered_as_claimed() -> None:
    found = outcome(WHOLE, 51, SURVEYS)
    assert len(found.covered) == CHARACTERISTICS
    for key, hits in found.covered.items():
        assert len(hits) == SURVEYS
        assert 0.93 <= np.mean(hits) <= 0.97, key
        assert np.std(found.scores[key]) == pytest.approx(1.0, abs=0.05), key
        assert abs(np.mean(found.scores[key])) <= NO_MORE_THAN / math.sqrt(SURVEYS), key
    assert found.moved <= SURVEYS / 200
    assert found.noisier <= SURVEYS / 200


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
    assert found.moved <= FEWER / 100
    assert found.noisier <= FEWER / 100
