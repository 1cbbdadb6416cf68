"""`jigbook gauge-study`: a table of readings in, the gauge's part of their scatter out."""

import json
from functools import partial
from pathlib import Path

import pytest

from tests.cli.conftest import Jigbook
from tests.services.instrument_facts import gauge_study


@pytest.fixture
def run(jigbook: Jigbook) -> Jigbook:
    return partial(jigbook, "gauge-study")


@pytest.fixture
def study(tmp_path: Path) -> str:
    file = tmp_path / "study.json"
    file.write_text(json.dumps(gauge_study(tolerance_width=3.0)))
    return str(file)


@pytest.fixture
def table(tmp_path: Path) -> str:
    file = tmp_path / "study.csv"
    rows = [
        f"{one['part']},{one['person']},{one['trial']},{one['value']}"
        for one in gauge_study()["readings"]
    ]
    file.write_text("\n".join(["part,person,trial,value", *rows]))
    return str(file)


def test_both_evaluations_stand_side_by_side(run: Jigbook, study: str) -> None:
    code, out, err = run(study)
    assert (code, err) == (0, "")
    assert out.startswith("5 parts, 3 people, 2 trials\nGauge and people together scatter by ")
    for words in ("variances, pooled", "averages and ranges", "repeatability", "of the tolerance"):
        assert words in out


def test_a_table_gives_the_same_numbers(run: Jigbook, study: str, table: str) -> None:
    from_table = json.loads(run(table, "--json", "--unit", "mm")[1])
    from_json = json.loads(run(study, "--json")[1])
    assert from_table["anova"]["table"] == from_json["anova"]["table"]
    assert from_table["average_range"]["mean_range"] == from_json["average_range"]["mean_range"]


def test_a_table_in_degrees_says_so(run: Jigbook, table: str) -> None:
    assert "°" in run(table, "--unit", "deg")[1]


def test_what_is_no_study_is_refused(run: Jigbook, study: str, table: str) -> None:
    code, _out, err = run(study, "--unit", "mm")
    assert (code, "says that itself" in err) == (2, True)
    lines = Path(table).read_text().splitlines()
    Path(table).write_text("\n".join(lines[:-1]))
    code, _out, err = run(table, "--json")
    assert code == 2
    assert json.loads(err)["error"]["code"] == "gauge_reading_missing"
    code, _out, err = run("nowhere.csv")
    assert (code, "there is no file" in err) == (2, True)
