"""The files to try by hand are what the simulator makes, say that they are invented, and differ."""

import json
from typing import Any

import pytest

from app import resources
from app.chassis.survey import FEATURES
from app.demonstration.full_survey import CRASHED, terms
from app.demonstration.machine_truth import true_values
from app.demonstration.pose import truth
from app.demonstration.seed_files import BENT, CORRECTED, NOMINAL, files
from app.schemas.reading import read_reference, read_survey
from app.services.solving import solve

SEED = resources.seed_data()


@pytest.mark.parametrize("name", sorted(files()))
def test_a_file_is_what_the_simulator_makes(name: str) -> None:
    """To a micrometre or two: the last digit may differ from one machine to another."""
    made, kept = files()[name], (SEED / name).read_text(encoding="utf-8")
    if name.endswith(".json"):
        assert close(json.loads(made), json.loads(kept))
    else:
        assert len(made.splitlines()) == len(kept.splitlines())
        assert made.splitlines()[0] == kept.splitlines()[0]


def close(one: object, other: object) -> bool:
    if isinstance(one, dict) and isinstance(other, dict):
        return one.keys() == other.keys() and all(close(one[key], other[key]) for key in one)
    if isinstance(one, list) and isinstance(other, list):
        return len(one) == len(other) and all(map(close, one, other))
    if isinstance(one, float) and isinstance(other, float):
        return abs(one - other) <= 0.002
    return one == other


@pytest.mark.parametrize("name", sorted(name for name in files() if name.endswith(".json")))
def test_a_file_says_that_it_is_invented(name: str) -> None:
    assert "nvented" in (SEED / name).read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("name", "pose"), [("before-head-bent.json", BENT), ("after-corrected.json", CORRECTED)]
)
def test_what_is_found_agrees_with_what_was_simulated(name: str, pose: Any) -> None:
    survey = read_survey((SEED / name).read_bytes())
    result = solve(survey, read_reference((SEED / "reference.json").read_bytes()))
    true = truth(pose, "by_height", NOMINAL.head_height_mm)
    for one in result["characteristics"]:
        miss = abs(one["value"] - true[one["key"]])
        assert miss <= 3.0 * one["standard_uncertainty"] + 1e-6, one["key"]


def test_what_is_found_of_a_whole_machine_agrees_with_what_was_simulated() -> None:
    """Every characteristic, by every feature; by chance one of 52 may miss by 3 u, none by 4."""
    survey = read_survey((SEED / "full-survey.json").read_bytes())
    result = solve(survey, read_reference((SEED / "full-reference.json").read_bytes()))
    true = true_values(CRASHED, terms())
    assert {one["key"] for one in result["characteristics"]} == set(true)
    scores = [
        abs(one["value"] - true[one["key"]]) / one["standard_uncertainty"]
        for one in result["characteristics"]
    ]
    assert sorted(scores)[-2] <= 3.0
    assert max(scores) <= 4.0
    assert {point.feature for point in survey.points} == FEATURES


def test_the_copies_for_the_benchmarks_hold_the_same_machine() -> None:
    for name in ("full-survey.json", "full-reference.json"):
        copy = SEED / "benchmarks" / name.replace("-", "_")
        assert close(json.loads(copy.read_text()), json.loads((SEED / name).read_text()))


@pytest.mark.parametrize("name", sorted(name for name in files() if name.startswith("before")))
def test_a_survey_states_no_moment_so_that_of_sending_stands(name: str) -> None:
    assert "measured_at" not in (SEED / name).read_text(encoding="utf-8")
