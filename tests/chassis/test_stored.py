"""A survey and its result as engine version 1 gave it; later engines of that version agree.

The points were simulated from an invented pose (seed 2026). When a change of the engine is meant to
change numbers, its version is raised and another file is stored beside this one.
"""

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from app.chassis.evaluate import evaluate
from app.chassis.result import ENGINE_VERSION, Result
from app.chassis.survey import Instrument, Options, Reference, Survey, Tolerance

STORED = Path(__file__).parents[1] / "stored"


def survey_of(stored: dict[str, Any]) -> Survey:
    columns = list(zip(*stored["points"], strict=True))
    feature, label, station, turn = (tuple(column) for column in columns[:4])
    x, y, z, u, offset = (np.array(column, dtype=float) for column in columns[4:])
    return Survey(
        feature,
        label,
        station,
        turn,
        np.stack((x, y, z), axis=1),
        u,
        offset,
        up=tuple(stored["up"]),
        instrument=Instrument(**stored["instrument"]),
        target_spacing=tuple(tuple(row) for row in stored["target_spacing"]),
        part_temperature_c=stored["part_temperature_c"],
    )


def reference_of(stored: dict[str, Any]) -> Reference:
    known = {key: Tolerance(*row) for key, row in stored["characteristics"].items()}
    return Reference(known, stored["levelling"], materials=stored["materials"])


def plain(result: Result) -> dict[str, Any]:
    """The result as lists, numbers and words."""
    found: dict[str, Any] = _plain(result)
    return found


def _plain(value: Any) -> Any:
    if isinstance(value, np.ndarray):
        return value.tolist()
    if isinstance(value, tuple) and hasattr(value, "_asdict"):
        return {name: _plain(part) for name, part in value._asdict().items()}
    if isinstance(value, tuple):
        return [_plain(part) for part in value]
    return value


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


@pytest.mark.parametrize("name", ["head_survey_1"])
def test_a_stored_survey_gives_its_stored_result(name: str) -> None:
    stored = json.loads((STORED / f"{name}.json").read_text())
    assert stored["result"]["engine_version"] == ENGINE_VERSION
    result = evaluate(
        survey_of(stored["survey"]),
        reference_of(stored["reference"]),
        Options(stored["result"]["threshold"]),
    )
    assert_same(plain(result), stored["result"])
