"""Thousands of surveys from a known chassis: what the engine claims must be what happens.

That every characteristic is covered in 4,000 surveys is shown in `test_machines`; here the rigs of
a head differ, the two weakest in most surveys. Both levelling rules take turns, survey by survey:
head height is found under `by_angle` alone, head angle under `by_height` alone, on half of the
surveys each; all else is found on all of them.
"""

import math
from collections import defaultdict
from dataclasses import dataclass, field, replace
from typing import TypeVar

import numpy as np
import pytest

from app.chassis.evaluate import evaluate
from app.chassis.survey import Reference, Tolerance
from app.demonstration.simulator import Rig, Simulated, draw_setup, simulate, truth
from tests.simulation.bound import Levelling, standard_deviations
from tests.simulation.rigs import BENT, RIGS

T = TypeVar("T")

MANY, FEWER = 1500, 400
WEAKEST = ("stacked", "two_bore_points")
SLIPS = 150
NO_MORE_THAN = 4.0
"""Standard deviations by which a share or a spread may be off by chance, over dozens of them."""
RULES: tuple[tuple[Levelling, str], ...] = (
    (("by_height", 320.0), "head_height"),
    (("by_angle", 24.0), "head_angle"),
)
IN_ALL = {"head_twist", "head_offset", "axis_distance", "face_position", "pivot_width"}


@dataclass
class Outcome:
    """What came out under one levelling rule, characteristic by characteristic."""

    errors: dict[str, list[float]] = field(default_factory=lambda: defaultdict(list))
    covered: dict[str, list[bool]] = field(default_factory=lambda: defaultdict(list))
    moved: list[bool] = field(default_factory=list)

    def add(self, made: Simulated, levelling: Levelling, made_true: str) -> None:
        reference = Reference({made_true: Tolerance(levelling[1])}, levelling[0])
        result = evaluate(made.survey, reference)
        true = truth(BENT, *levelling)
        assert {item.key for item in result.characteristics} >= set(true)
        for item in result.characteristics:
            if item.key in true and item.key != made_true:
                error = item.value - true[item.key]
                self.errors[item.key].append(error)
                self.covered[item.key].append(abs(error) <= item.expanded_uncertainty)
        self.moved.append(result.rig_check.verdict == "moved")


def outcomes(rig: Rig, seed: int, surveys: int) -> list[Outcome]:
    rng = np.random.default_rng(seed)
    found = [Outcome() for _ in RULES]
    for number in range(surveys):
        which = number % len(RULES)
        found[which].add(simulate(BENT, rig, rng), *RULES[which])
    return found


def pooled(parts: list[dict[str, list[T]]]) -> dict[str, list[T]]:
    """Every characteristic's values from both rules, one list each."""
    keys = dict.fromkeys(key for part in parts for key in part)
    return {key: [value for part in parts for value in part.get(key, [])] for key in keys}


@pytest.mark.simulation
@pytest.mark.parametrize("name", RIGS)
def test_what_is_claimed_is_what_happens(name: str) -> None:
    """Intervals cover, the spread is the least possible, a still set-up is seldom doubted."""
    surveys = MANY if name in WEAKEST else FEWER
    found = outcomes(RIGS[name], list(RIGS).index(name), surveys)
    covered = pooled([part.covered for part in found])
    assert set(covered) == IN_ALL | {"head_reach", "head_height", "head_angle"}
    for key, hits in covered.items():
        assert len(hits) == (surveys // 2 if key in {"head_height", "head_angle"} else surveys)
        off = NO_MORE_THAN * math.sqrt(0.05 * 0.95 / len(hits))
        assert np.mean(hits) == pytest.approx(0.95, abs=off), key
    for part, (levelling, made_true) in zip(found, RULES, strict=True):
        least = standard_deviations(RIGS[name], BENT, levelling)
        for key in set(least) - {made_true} - IN_ALL:
            require_least(key, part.errors[key], least[key])
    errors = pooled([part.errors for part in found])
    for key in IN_ALL:
        require_least(key, errors[key], least[key])
    assert sum(sum(part.moved) for part in found) <= surveys / 200


def require_least(key: str, errors: list[float], least: float) -> None:
    """A standard deviation from n values scatters by 1 / sqrt(2 n) of itself."""
    off = NO_MORE_THAN / math.sqrt(2.0 * len(errors))
    assert np.std(errors) == pytest.approx(least, rel=off), key


@pytest.mark.simulation
@pytest.mark.parametrize("name", RIGS)
def test_a_slip_of_the_printed_size_is_caught_nine_times_in_ten(name: str) -> None:
    """In the weakest direction, and after the datum: what the returned datum must find alone.

    What a survey prints is held against the same survey with that slip in it.
    """
    rng = np.random.default_rng(100 + list(RIGS).index(name))
    rig = replace(RIGS[name], slipped_before="steering")
    caught = []
    for number in range(SLIPS):
        setup, noise = draw_setup(BENT, rig, rng), (number, SLIPS)
        survey = simulate(BENT, rig, np.random.default_rng(noise), setup).survey
        printed = evaluate(survey, Reference()).rig_check
        assert printed.detectable_slip_mm is not None
        direction = setup.orientation.T @ np.array(printed.weakest_direction)
        setup = replace(setup, slip=printed.detectable_slip_mm * direction)
        slipped = simulate(BENT, rig, np.random.default_rng(noise), setup).survey
        caught.append(evaluate(slipped, Reference()).rig_check.verdict == "moved")
    off = NO_MORE_THAN * math.sqrt(0.1 * 0.9 / SLIPS)
    assert np.mean(caught) == pytest.approx(0.9, abs=off)
