"""A survey and its result as engine version 1 gave it; later engines of that version agree.

The points were simulated from invented machines (the first from seed 2026, the others as
`make_stored` says). When a change of the engine is meant to change numbers, its version is raised
and other files are stored beside these.
"""

import json
from pathlib import Path
from typing import Any

import pytest

from app.chassis.evaluate import evaluate
from app.chassis.result import ENGINE_VERSION
from app.chassis.survey import Options
from tests.chassis.make_stored import stored_surveys
from tests.chassis.stored import plain, reference_of, survey_of

STORED = Path(__file__).parents[1] / "stored"


def assert_same(found: Any, stored: Any, where: str = "result") -> None:
    if isinstance(stored, dict):
        # An answer may gain keys under the same version.
        assert stored.keys() <= found.keys(), where
        for key, value in stored.items():
            assert_same(found[key], value, f"{where}.{key}")
    elif isinstance(stored, list):
        assert len(found) == len(stored), where
        for place, value in enumerate(stored):
            assert_same(found[place], value, f"{where}[{place}]")
    elif isinstance(stored, float):
        assert found == pytest.approx(stored, rel=1e-9, abs=1e-9), where
    else:
        assert found == stored, where


@pytest.mark.parametrize("name", sorted(path.stem for path in STORED.glob("*.json")))
def test_a_stored_survey_gives_its_stored_result(name: str) -> None:
    stored = json.loads((STORED / f"{name}.json").read_text())
    assert stored["result"]["engine_version"] == ENGINE_VERSION
    result = evaluate(
        survey_of(stored["survey"]),
        reference_of(stored["reference"]),
        Options(stored["result"]["threshold"], monte_carlo=0),
    )
    assert_same(plain(result), stored["result"])


def test_every_kind_of_survey_is_stored() -> None:
    """The files of `make_stored`, and the first one."""
    assert {path.stem for path in STORED.glob("*.json")} == {"head_survey_1", *stored_surveys()}
