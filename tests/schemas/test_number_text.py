"""Numbers as people write them, and numbers too large to be told back whole."""

import pytest

from app.errors import BadInput
from app.schemas.number_text import NotANumber, number_from
from app.schemas.problems import piece
from app.schemas.reading import read_survey


@pytest.mark.parametrize(
    ("text", "value"),
    [(".1", 0.1), (",1", 0.1), ("-.25", -0.25), (".5e1", 5.0), ("0.1", 0.1), ("12", 12.0)],
)
def test_a_number_may_begin_with_its_decimal_mark(text: str, value: float) -> None:
    assert number_from(text) == value


@pytest.mark.parametrize("text", [".", ",", "-.", "1.", "..1", ".1.2", ".e1", "1.000,5", ""])
def test_what_is_no_number_stays_none(text: str) -> None:
    with pytest.raises(NotANumber):
        number_from(text)


@pytest.mark.parametrize(
    ("value", "told"),
    [(1e300, "1e+300"), (-2.5e20, "-2.5e+20"), (10**400, "> 1e308"), (-(10**400), "< -1e308")],
)
def test_a_large_number_is_told_as_it_is(value: float, told: str) -> None:
    assert piece(value) == told


def test_a_survey_without_points_has_too_few() -> None:
    content = b'{"format": "jigbook.survey/1", "points": []}'
    with pytest.raises(BadInput) as caught:
        read_survey(content, {})
    assert [(one.code, one.field) for one in caught.value.problems] == [
        ("too_few_points", "points")
    ]
