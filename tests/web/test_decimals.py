"""Numbers as people type them: never guessed, never changed a thousandfold."""

import pytest

from app.errors import BadInput
from app.web.decimals import numbers_in, readings_in


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("412.5", 412.5),
        ("412,5", 412.5),
        (" -0,25 ", -0.25),
        ("+3", 3.0),
        ("1234", 1234.0),
        ("1.234", 1.234),
        ("1234,567", 1234.567),
        ("0,12", 0.12),
        ("0,123", 0.123),
        ("-805,615", -805.615),
        ("-57,057", -57.057),
    ],
)
def test_comma_and_point_are_the_same(text: str, value: float) -> None:
    assert readings_in({"x": text}, ["x"]) == {"x": value}


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("1,234", "could_be_thousands"),
        ("-12,345", "could_be_thousands"),
        ("+9,999", "could_be_thousands"),
        ("1.234,5", "not_a_number"),
        ("1,234.5", "not_a_number"),
        ("1'234", "not_a_number"),
        ("1 234", "not_a_number"),
        ("1e3", "not_a_number"),
        ("12abc", "not_a_number"),
        ("--3", "not_a_number"),
        ("٤١٢", "not_a_number"),
        ("NaN", "not_finite"),
        ("inf", "not_finite"),
        ("1e999", "not_finite"),
        ("0.1234", "too_many_decimals"),
        ("99999999", "not_a_number"),
    ],
)
def test_what_could_mean_two_things_is_refused(text: str, code: str) -> None:
    with pytest.raises(BadInput) as error:
        readings_in({"x": text}, ["x"], "points.0.")
    assert [(one.code, one.field) for one in error.value.problems] == [(code, "points.0.x")]


def test_every_wrong_number_is_named_at_once() -> None:
    with pytest.raises(BadInput) as error:
        readings_in({"x": "a", "y": "2", "z": "b"}, ["x", "y", "z"])
    assert [one.field for one in error.value.problems] == ["x", "z"]


def test_an_empty_field_is_no_number_and_no_mistake() -> None:
    assert readings_in({"x": "1", "u": "  "}, ["x", "u"]) == {"x": 1.0}


def test_figures_of_a_calibration_may_have_an_exponent() -> None:
    assert numbers_in({"a": "1,17e-5"}, ["a"]) == {"a": 1.17e-5}
    with pytest.raises(BadInput):
        numbers_in({"a": "1e999"}, ["a"])
