"""From schema to engine and back: nothing is lost, and every code of a result is a known one."""

import json
import math
from dataclasses import asdict
from typing import Any

import pytest
from pydantic import TypeAdapter

from app import resources
from app.schemas.reading import read_reference, read_survey, reference_from, survey_from
from app.schemas.result import ResultOut
from app.services.solving import reference_to_engine, solve, to_engine
from tests.schemas.examples import REFERENCE, SURVEY

SEED = resources.seed_data()


def solved(name: str) -> ResultOut:
    survey = read_survey((SEED / name).read_bytes())
    return solve(survey, read_reference((SEED / "reference.json").read_bytes()))


@pytest.mark.parametrize(
    "name", ["before-head-bent.json", "after-corrected.json", "before-set-up-moved.json",
             "before-head-bent.csv"]
)  # fmt: skip
def test_a_result_is_of_its_format_and_every_code_is_one_of_those_told(name: str) -> None:
    result = solved(name)
    adapter = TypeAdapter(ResultOut)
    assert adapter.validate_python(json.loads(json.dumps(result, allow_nan=False))) == result
    require_told(result, adapter.json_schema())


def require_told(value: Any, schema: dict[str, Any]) -> None:
    """Every text that stands where the schema lists all codes is one of them."""
    checked = 0

    def walk(part: Any, told: dict[str, Any]) -> None:
        nonlocal checked
        if "$ref" in told:
            told = {**told, **schema["$defs"][told["$ref"].split("/")[-1]]}
        if part is None:
            return
        for option in told.get("anyOf", []):
            if option.get("type") != "null":
                walk(part, option)
        if "enum" in told:
            assert part in told["enum"]
            checked += 1
        for key, below in told.get("properties", {}).items():
            if key in told.get("required", ()) or key in part:
                walk(part[key], below)
        for one in part if "items" in told else []:
            walk(one, told["items"])

    walk(value, schema)
    assert checked > 20


def test_nothing_of_a_survey_is_lost_on_the_way_to_the_engine() -> None:
    engine = to_engine(survey_from(SURVEY))
    assert engine.feature == ("steer_target", "head_face")
    assert engine.label == ("upper", None)
    assert engine.station == ("s1", None)
    assert engine.turn == ("left", None)
    assert engine.xyz.tolist() == [[1.0, 2.0, 3.0], [1.0, -2.0, 3.0]]
    assert engine.u[0] == 0.1
    assert math.isnan(engine.u[1])
    assert math.isnan(engine.offset[0])
    assert engine.offset[1] == 3.0
    assert engine.cov[0].tolist() == [[0.01, 0.0, 0.0], [0.0, 0.01, 0.0], [0.0, 0.0, 0.02]]
    assert engine.up == (0.0, 0.0, 1.0)
    assert engine.target_spacing == (("upper", "lower", 200.0, 0.05),)
    assert (engine.part_temperature_c, engine.part_temperature_u_k) == (24.0, 2.0)
    assert engine.after_ride_in is True
    assert engine.chain_adjusters == SURVEY["chain_adjusters"]
    assert engine.fork_runout_mm == SURVEY["fork_runout_mm"]
    told = SURVEY["instrument"]
    for name in type(engine.instrument).__slots__:
        assert getattr(engine.instrument, name) == told[name], name


def test_nothing_of_a_reference_is_lost_on_the_way_to_the_engine() -> None:
    engine = reference_to_engine(reference_from(REFERENCE))
    twist = engine.characteristics["head_twist"]
    assert (twist.nominal, twist.lower, twist.upper, twist.required) == (0.0, -0.3, 0.3, True)
    assert engine.characteristics["distance.a.b"].required is None
    for name in type(engine).__slots__:
        if name != "characteristics":
            told = REFERENCE[name]
            got = getattr(engine, name)
            assert json.loads(json.dumps(got, default=asdict)) == told, name


def test_the_finding_names_the_reference_as_it_is_called() -> None:
    survey = read_survey((SEED / "after-corrected.json").read_bytes())
    reference = read_reference((SEED / "reference.json").read_bytes())
    sentence = solve(survey, reference, called="Example 700, revision 3")["finding"]["sentence"]
    assert "reference Example 700, revision 3:" in sentence


def test_the_findings_lists_hold_every_characteristic_with_a_limit_once() -> None:
    result = solved("before-head-bent.json")
    verdicts = [one["verdict"] for one in result["characteristics"]]
    assert result["finding"]["required"] == 6
    assert verdicts.count("outside") == 5
