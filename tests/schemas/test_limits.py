"""What is taken at all: bounds that keep a small file from costing minutes or a crash."""

import time
from typing import Any

import pytest

from app.errors import BadInput, Problem
from app.schemas.customer import CustomerIn
from app.schemas.form import DEEPEST, without_blanks
from app.schemas.json_text import read_json
from app.schemas.reading import checked, survey_from
from app.schemas.survey import MOST_STATIONS, MOST_TARGETS, SurveyIn
from app.wording.errors import explain

POINT = {"feature": "pivot", "x": 1.0, "y": 2.0, "z": 3.0, "u": 0.1}


def survey(*points: dict[str, Any], **more: object) -> dict[str, Any]:
    return {"format": "jigbook.survey/1", "points": [{**POINT, **p} for p in points], **more}


def steering(targets: int, stations: int) -> dict[str, Any]:
    return survey(
        *(
            {"feature": "steer_target", "label": f"t{target}", "station": f"s{station}"}
            for target in range(targets)
            for station in range(stations)
        )
    )


def refused(sent: object) -> Problem:
    with pytest.raises(BadInput) as caught:
        survey_from(sent)
    (problem,) = caught.value.problems
    return problem


def test_as_many_targets_and_stations_as_are_allowed_are_taken() -> None:
    assert len(survey_from(steering(MOST_TARGETS, MOST_STATIONS)).points) == 1200


@pytest.mark.parametrize(
    ("targets", "stations", "code", "limit"),
    [
        (1, MOST_STATIONS + 1, "too_many_stations", "60"),
        (MOST_TARGETS + 1, 1, "too_many_targets", "20"),
    ],
)
def test_more_are_refused_with_the_limit(
    targets: int, stations: int, code: str, limit: str
) -> None:
    problem = refused(steering(targets, stations))
    assert (problem.code, problem.field) == (code, "points")
    assert f"at most {limit}" in explain(problem).sentence


def test_the_schema_says_the_limits() -> None:
    points = SurveyIn.model_json_schema()["properties"]["points"]
    assert points["maxItems"] == 5000
    assert "at most 20, at 60 stations" in points["description"]


@pytest.mark.parametrize("up", [[1e-320, 0.0, 0.0], [1e-200, 0.0, 1e-200], [0.0, 9e-4, 0.0]])
def test_an_upward_direction_without_a_usable_length_is_refused(up: list[float]) -> None:
    problem = refused(survey({}, up=up))
    assert (problem.code, problem.field) == ("up_without_direction", "up")
    assert "at least 0.001 long" in explain(problem).sentence


def test_a_short_upward_direction_is_taken() -> None:
    assert survey_from(survey({}, up=[0.0, 0.0, 1e-3])).up == (0.0, 0.0, 1e-3)


@pytest.mark.parametrize(
    "moment", ["0001-01-01T00:00:00+23:00", "9999-12-31T23:59:59-23:00", "1989-12-31T12:00:00Z"]
)
def test_a_time_outside_of_the_calendar_of_the_program_is_refused(moment: str) -> None:
    problem = refused(survey({}, measured_at=moment))
    assert (problem.code, problem.field) == ("year_out_of_range", "measured_at")
    assert "from 1990 to 2200" in explain(problem).sentence


def test_a_day_has_the_same_bounds() -> None:
    problem = refused(survey({}, instrument={"calibrated": "0001-01-01"}))
    assert (problem.code, problem.field) == ("year_out_of_range", "instrument.calibrated")


def test_lists_in_lists_are_refused_plainly_however_deep() -> None:
    sent: object = "x"
    for _ in range(900):
        sent = [sent]
    with pytest.raises(BadInput) as caught:
        checked(CustomerIn, {"name": sent})
    assert caught.value.code == "nested_too_deep"
    assert str(DEEPEST) in explain(caught.value).sentence


def test_what_a_record_needs_is_not_too_deep() -> None:
    assert without_blanks({"checks": [{"item": "x", "note": " "}]}) == {"checks": [{"item": "x"}]}


def test_a_repeated_key_among_many_is_found_in_no_time() -> None:
    """A megabyte of keys: looking each one up in a list of all would take a minute."""
    keys = ",".join(f'"k{n}":1' for n in range(80_000))
    start = time.process_time()
    with pytest.raises(BadInput, match="key_twice"):
        read_json(f'{{{keys},"k79999":2}}')
    assert time.process_time() - start < 5.0


@pytest.mark.parametrize(
    "mark",
    ["\u202e", "\u2066", "\u200e", "\u061c", "\u2028", "\u200b", "\ufeff", "\u0085", "\x7f"],
    ids=ascii,
)
def test_marks_that_nobody_sees_are_refused_in_names_and_texts(mark: str) -> None:
    for sent in ({"name": f"Ann{mark}a"}, {"name": "Anna", "note": f"well{mark}known"}):
        with pytest.raises(BadInput) as caught:
            checked(CustomerIn, sent)
        assert caught.value.code == "not_printable"


@pytest.mark.parametrize("name", ["نرگس\u200cها", "José Ñandú", "Ольга", "王芳", "Zoë 👩\u200d🔧"])
def test_names_of_any_writing_are_taken(name: str) -> None:
    assert checked(CustomerIn, {"name": name}).name == name
