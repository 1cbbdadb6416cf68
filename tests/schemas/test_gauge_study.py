"""Gauge studies as files: complete or refused, JSON and CSV alike, unknown keys by name."""

from typing import Any

import pytest

from app.errors import BadInput, Problem
from app.schemas.gauge_study import GaugeStudyIn, gauge_study_from, read_gauge_study
from app.wording.errors import explain
from tests.services.instrument_facts import gauge_study, text

CSV = (
    "part,person,trial,value\n"
    "1,A,1,10.0\n1,A,2,10.1\n2,A,1,11.0\n2,A,2,11.2\n"
    "1,B,1,10.2\n1,B,2,10.0\n2,B,1,11.1\n2,B,2,11.1\n"
)


def read(sent: object) -> GaugeStudyIn:
    return read_gauge_study(sent.encode()) if isinstance(sent, str) else gauge_study_from(sent)


def refused(sent: object) -> tuple[Problem, ...]:
    with pytest.raises(BadInput) as caught:
        read(sent)
    for problem in caught.value.problems:
        assert "code" not in explain(problem).sentence
    return caught.value.problems


def test_a_study_is_read_from_json_and_from_a_table() -> None:
    study = read_gauge_study(text(gauge_study()).encode())
    assert (len(study.parts), study.people, study.trials) == (5, ("A", "B", "C"), (1, 2))
    table = read_gauge_study(CSV.encode(), {"unit": "deg"})
    assert (table.parts, table.people, table.unit) == (("1", "2"), ("A", "B"), "deg")
    semicolons = CSV.replace(",", ";").replace(".", ",")
    assert read_gauge_study(semicolons.encode()).readings == table.readings


def test_a_missing_reading_is_named() -> None:
    (problem,) = refused(CSV.replace("2,B,1,11.1\n", ""))
    assert problem.code == "gauge_reading_missing"
    assert explain(problem).met == "part 2, person B, trial 1 is missing"


def test_a_reading_that_stands_there_twice_is_named() -> None:
    (problem,) = refused(CSV + "2,B,1,11.1\n")
    assert problem.code == "gauge_reading_twice"


@pytest.mark.parametrize(
    ("table", "what"),
    [
        ("1,A,1,1.0\n1,A,2,1.0\n", "parts"),
        ("1,A,1,1.0\n2,A,1,1.0\n", "trials"),
    ],
)
def test_what_is_too_small_is_refused_with_what_is_needed(table: str, what: str) -> None:
    (problem,) = refused("part,person,trial,value\n" + table)
    assert problem.code == "gauge_study_size"
    assert explain(problem).met == f"the study has 1 {what}"


def test_too_many_of_a_kind_are_refused() -> None:
    rows = "".join(f"{part},A,{trial},1.0\n" for part in range(101) for trial in (1, 2))
    (problem,) = refused("part,person,trial,value\n" + rows)
    assert (problem.code, problem.facts["met"], problem.facts["highest"]) == (
        "gauge_study_size", 101, 100,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("sent", "code", "field"),
    [
        ([], "not_a_gauge_study", ""),
        ({"format": "jigbook.survey/1"}, "not_a_gauge_study", "format"),
        (gauge_study(colour="red"), "unknown_key", "colour"),
        (gauge_study(unit="inch"), "not_one_of", "unit"),
        (gauge_study(tolerance_width=0.0), "too_small", "tolerance_width"),
        ("part,person,trial\n1,A,1\n", "column_missing", "rows.1"),
        ("part,person,trial,value,shade\n1,A,1,1.0,2\n", "unknown_column", "rows.1"),
        ("part,person,trial,value\n", "no_rows", ""),
        (CSV.replace("10.0", "ten"), "not_a_number", "rows.2.value"),
        (CSV.replace("1,A,1,", "1,A,one,"), "wrong_type", "rows.2.trial"),
        (CSV.replace("1,A,1,", "1,A,0,"), "too_small", "rows.2.trial"),
        (CSV.replace("1,A,1,10.0", "1,A,1,nan"), "not_finite", "rows.2.value"),
        (CSV + "3,A\n", "row_length", "rows.10"),
    ],
    ids=str,
)
def test_what_is_no_study_is_refused(sent: Any, code: str, field: str) -> None:
    problem = refused(sent)[0]
    assert (problem.code, problem.field) == (code, field)


def test_a_long_table_is_refused_before_it_is_read() -> None:
    rows = "".join(f"{part},A,1,1.0\n" for part in range(5001))
    (problem,) = refused("part,person,trial,value\n" + rows)
    assert problem.code == "too_many_rows"
    assert explain(problem).action == "send one study alone"
