"""Rows of one step: read as they are written, or refused with every wrong cell."""

from contextlib import suppress

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.errors import BadInput
from app.schemas.step_rows import step_rows

FEATURE = "steer_target"


def numbers(text: str, label: str | None = None) -> list[tuple[object, ...]]:
    """Name, x, y, z of each row."""
    rows = [row.reading for row in step_rows(text, FEATURE, label)]
    return [tuple(row.get(key) for key in ("name", "x", "y", "z")) for row in rows]


@pytest.mark.parametrize(
    "text",
    ["1.5\t-2\t3.25", "1,5\t-2\t3,25", "1,5;-2;3,25", "1.5,-2,3.25", "1.5 -2 3.25",
     "1,5 -2 3,25", "1.5, -2, 3.25", "  1.5   -2   3.25  ", "x,y,z\n1.5,-2,3.25",
     "X;Y;Z\r\n1,5;-2;3,25\r\n"],
)  # fmt: skip
def test_every_usual_way_to_part_cells_gives_the_same_numbers(text: str) -> None:
    assert numbers(text) == [(None, 1.5, -2.0, 3.25)]


def test_a_name_may_stand_before_the_numbers() -> None:
    assert numbers("upper 1 2 3\nlower 4 5 6") == [("upper", 1, 2, 3), ("lower", 4, 5, 6)]


def test_a_fourth_number_is_the_standard_uncertainty() -> None:
    (row,) = step_rows("1 2 3 0,05", FEATURE)
    assert row.reading == {
        "x": 1.0, "y": 2.0, "z": 3.0, "u": 0.05,
        "as_entered": {"x": "1", "y": "2", "z": "3", "u": "0,05"},
    }  # fmt: skip


def test_a_whole_surveys_columns_are_read_at_the_step_that_they_belong_to() -> None:
    text = "feature,label,station,x,y,z,u\nsteer_target,upper,left,1.5,2,3,\n"
    assert numbers(text) == [("upper", 1.5, 2.0, 3.0)]


@pytest.mark.parametrize("cells", [";0,1;3,0;left", ";0,1;;", ";0,1", ""])
def test_rows_of_a_survey_are_known_without_their_header(cells: str) -> None:
    text = f"steer_target;upper;1;146,894;-467,34;-805,615{cells}"
    (row,) = step_rows(text, FEATURE)
    assert (row.reading["name"], row.reading["x"], row.reading["z"]) == ("upper", 146.894, -805.615)
    assert row.reading.get("u") == (0.1 if "0,1" in cells else None)
    assert row.reading.get("offset") == (3.0 if "3,0" in cells else None)


def test_a_return_is_not_taken_for_the_first_measurement() -> None:
    text = "pivot,left,return,1.5,2,3,0.1"
    assert len(step_rows(text, "pivot", "left", again=True)) == 1
    with pytest.raises(BadInput) as refused:
        step_rows(text, "pivot", "left", again=False)
    assert [one.code for one in refused.value.problems] == ["row_of_a_return"]


def code_of(text: str, label: str | None = None) -> list[tuple[str, str]]:
    with pytest.raises(BadInput) as refused:
        step_rows(text, FEATURE, label)
    return [(problem.code, problem.field) for problem in refused.value.problems]


@pytest.mark.parametrize(
    ("text", "code", "field"),
    [
        ("", "no_rows", ""),
        ("x,y,z", "no_rows", ""),
        ("1 2", "row_unclear", "rows.1"),
        ("1 2 3 4 5", "row_unclear", "rows.1"),
        ("x,y,z\n1,2", "row_length", "rows.2"),
        ("pivot;left;;1,5;2;3;0,1;;", "row_of_another_step", "rows.1"),
        ("pivot;left;;1,5;2;3;0,1;;;;", "row_unclear", "rows.1"),
        (
            "steer_target;up;1;1;2;3\nsteer_target;low;2;1;2;3",
            "row_of_another_station",
            "rows.2",
        ),
        ("1 2 3\n1 2 zwei", "not_a_number", "rows.2.z"),
        ("1 nan 3", "not_finite", "rows.1.y"),
        ("x;y;z\n1;;3", "missing", "rows.2.y"),
        ("1,234\t1.5\t2", "mixed_decimal_marks", "rows.1"),
        ("x,y,z,colour\n1,2,3,4", "unknown_column", "rows.1"),
        ("x,y,z,x\n1,2,3,4", "column_twice", "rows.1"),
        ("feature,x,y,z\npivot,1,2,3", "row_of_another_step", "rows.2"),
        ("1 2 3\n" * 201, "too_many_rows", ""),
    ],
)
def test_what_cannot_be_read_is_named_by_its_row(text: str, code: str, field: str) -> None:
    assert (code, field) in code_of(text)


def test_a_row_of_the_other_side_is_refused() -> None:
    assert code_of("label,x,y,z\nright,1,2,3", "left") == [("row_of_another_step", "rows.2")]
    assert numbers("label,x,y,z\nleft,1,2,3", "left") == [(None, 1.0, 2.0, 3.0)]


def test_every_wrong_cell_is_told_at_once() -> None:
    assert len(code_of("a b c\n1 x y")) >= 3


@given(st.text(max_size=60))
@settings(deadline=None, derandomize=True, max_examples=150)
def test_any_text_is_read_or_refused(text: str) -> None:
    with suppress(BadInput):
        rows = step_rows(text, FEATURE)
        assert rows
        assert all({"x", "y", "z"} <= row.texts.keys() for row in rows)
