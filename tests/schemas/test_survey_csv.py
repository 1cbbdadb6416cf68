"""CSV: commas, or semicolons with decimal comma; what is read is what was written."""

import pytest

from app.errors import BadInput
from app.schemas.points import PointIn
from app.schemas.reading import read_survey
from tests.schemas.examples import CSV

SEMICOLONS = (
    "\ufefffeature;label;station;x;y;z;u;turn\r\n"
    "pivot;left;;1,5;-2;3;0,1;\r\n"
    "\r\n"
    'steer_target;upper;s1;"412,5";2;3,25;0,1;left\r\n'
)


def refusal(text: str) -> BadInput:
    with pytest.raises(BadInput) as caught:
        read_survey(text.encode())
    return caught.value


def test_commas_with_decimal_points_are_read() -> None:
    points = read_survey(CSV.encode()).points
    assert points[0] == PointIn(feature="pivot", label="left", x=1.5, y=2.0, z=3.0, u=0.1)
    assert points[1].offset == 3.0
    assert points[2].turn == "left"


def test_semicolons_with_decimal_commas_a_mark_and_empty_lines_are_read() -> None:
    points = read_survey(SEMICOLONS.encode()).points
    assert [point.x for point in points] == [1.5, 412.5]
    assert [point.z for point in points] == [3.0, 3.25]


def test_semicolons_with_decimal_points_are_read() -> None:
    text = SEMICOLONS.replace(",", ".")
    assert [point.x for point in read_survey(text.encode()).points] == [1.5, 412.5]


def test_points_beside_decimal_commas_could_be_thousands_and_are_refused() -> None:
    error = refusal(SEMICOLONS.replace("3,25", "1.234"))
    assert [(p.code, p.field) for p in error.problems] == [("mixed_decimal_marks", "rows.4")]


def test_a_decimal_comma_between_commas_is_refused_and_not_guessed() -> None:
    error = refusal(CSV.replace("pivot,left,,1.5,2", 'pivot,left,,"1,5",2'))
    assert [(p.code, p.field) for p in error.problems] == [("not_a_number", "rows.2.x")]


def test_a_point_in_the_name_of_a_pair_is_no_decimal_mark() -> None:
    text = SEMICOLONS + "pair;tail.left;;1;2;3;0,1;\r\n"
    assert read_survey(text.encode()).points[-1].label == "tail.left"


def test_what_csv_cannot_say_stands_beside_it() -> None:
    text = CSV.replace(",0.1,", ",,")
    assert refusal(text).code == "no_uncertainty"
    assert refusal(text).problems[0].field == "rows.2.u"
    beside = {"instrument": {"standard_uncertainty_mm": 0.2}, "up": [0, 0, 1]}
    survey = read_survey(text.encode(), beside)
    assert survey.instrument.standard_uncertainty_mm == 0.2
    assert survey.up == (0.0, 0.0, 1.0)


def test_rows_are_counted_as_lines_of_the_file() -> None:
    error = refusal(SEMICOLONS + "pivot;left;;1;2;drei;0,1;\r\n")
    assert error.problems[0].field == "rows.5.z"
