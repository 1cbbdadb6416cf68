"""Every field of survey, reference and CSV, filled with what may come: taken, or refused in words.

Whatever is sent, the answer is a model or a BadInput whose every problem can be said in a
sentence that holds no more than a piece of what was sent, and goes into JSON.
"""

import json
import re
from collections.abc import Callable

import pytest
from pydantic import BaseModel

from app.errors import BadInput, Problem
from app.schemas.json_text import read_json
from app.schemas.reading import read_reference, read_survey, reference_from, survey_from
from app.wording.errors import explain, explanations
from tests.schemas import examples
from tests.schemas.examples import CSV, REFERENCE, SURVEY, Path, paths, with_value, without

MEGABYTE = "x" * 1_000_000
LONGEST_SENTENCE = 600

BAD_VALUES: dict[str, object] = {
    "empty text": "",
    "blank": "  ",
    "a word": "three",
    "a number as text": "412,5",
    "another script": "Приве́т",
    "right to left": "\u202eabc",
    "a control character": "a\x00b",
    "half of a pair": "\ud83d",
    "a megabyte": MEGABYTE,
    "nan": float("nan"),
    "infinity": float("inf"),
    "minus infinity": float("-inf"),
    "a very large number": 1e300,
    "a very long number": 10**400,
    "a negative number": -1.0,
    "true": True,
    "a list": [1, 2],
    "an empty list": [],
    "an object": {"a": 1},
    "a formula": "=1+1",
    "markup": "<script>alert(1)</script>",
}

SURVEY_PATHS = paths(SURVEY)
REFERENCE_PATHS = paths(REFERENCE)


def outcome(read: Callable[[], BaseModel]) -> BadInput | None:
    try:
        read()
    except BadInput as error:
        return error
    return None


def require_said_well(error: BadInput) -> None:
    assert error.problems
    for problem in error.problems:
        sentence = explain(problem).sentence
        assert problem.code in explanations()
        assert len(sentence) < LONGEST_SENTENCE, sentence
        assert sentence.isprintable(), sentence
        json.dumps({"field": problem.field, **problem.facts}, allow_nan=False)
    json.dumps(explain(error).sentence, allow_nan=False)


def named(path: Path) -> str:
    return ".".join(str(part) for part in path)


@pytest.mark.parametrize("path", SURVEY_PATHS, ids=named)
def test_no_value_of_a_survey_field_passes_unseen_or_fails_otherwise(path: Path) -> None:
    for value in BAD_VALUES.values():
        content = with_value(SURVEY, path, value)
        error = outcome(lambda content=content: survey_from(content))  # type: ignore[misc]
        if error:
            require_said_well(error)
        else:
            assert taken(path, value), f"{value!r:.40} was taken at {named(path)}"


@pytest.mark.parametrize("path", REFERENCE_PATHS, ids=named)
def test_no_value_of_a_reference_field_passes_unseen_or_fails_otherwise(path: Path) -> None:
    for value in BAD_VALUES.values():
        content = with_value(REFERENCE, path, value)
        error = outcome(lambda content=content: reference_from(content))  # type: ignore[misc]
        if error:
            require_said_well(error)
        else:
            assert taken(path, value), f"{value!r:.40} was taken at {named(path)}"


FREE_TEXTS = {"by", "mounting", "name", "make", "model", "years", "detail", "source"}
SIGNED = {
    "x", "y", "z", "up", "part_temperature_c", "scale_temperature_c", "left", "right", "cov",
    "nominal", "lower", "upper", "engine_front_left", "attitude_deg", "fork_offset_mm",
    "arm_droop_deg",
}  # fmt: skip
NAMES = {"station", "materials"}


def taken(path: Path, value: object) -> bool:
    """Whether this odd value is a good one at this place."""
    keys = {part for part in path if isinstance(part, str)}
    if isinstance(value, str):
        printable = value.strip() and "\x00" not in value and "\ud83d" not in value
        if keys & FREE_TEXTS:
            return bool(printable) and value != MEGABYTE
        name = value == "three"
        return name and bool(keys & {"station", "label", "fork"} or path[-1] in (0, 1))
    if isinstance(value, float):
        return value == -1.0 and bool(keys & SIGNED)
    if value is True:
        return path[-1] in {"after_ride_in", "required"}
    return value == {} or path[-1] == "unused"


@pytest.mark.parametrize("path", SURVEY_PATHS, ids=named)
def test_a_survey_field_left_out_is_named_or_not_needed(path: Path) -> None:
    error = outcome(lambda: survey_from(without(SURVEY, path)))
    if error is None:
        assert path[-1] not in {"format", "feature", "x", "y", "z"}
    else:
        require_said_well(error)
        # Without the instrument's uncertainty it is the points that lack theirs.
        expected = "points" if path[-1] == "standard_uncertainty_mm" else named(path[:-1])
        assert any(problem.field.startswith(expected) for problem in error.problems)


@pytest.mark.parametrize("path", REFERENCE_PATHS, ids=named)
def test_a_reference_field_left_out_is_named_or_not_needed(path: Path) -> None:
    error = outcome(lambda: reference_from(without(REFERENCE, path)))
    if error is None:
        assert path[-1] != "format"
    else:
        require_said_well(error)


@pytest.mark.parametrize(
    ("content", "read"),
    [(SURVEY, survey_from), (REFERENCE, reference_from)],
    ids=["survey", "reference"],
)
def test_an_unknown_key_is_refused_by_name_at_every_level(
    content: object, read: Callable[[object], BaseModel]
) -> None:
    places = {path[:-1] for path in paths(content) if isinstance(path[-1], str)}
    assert len(places) > 4
    for place in places:
        changed = with_value(content, (*place, "surprise"), 1)
        error = outcome(lambda changed=changed: read(changed))  # type: ignore[misc]
        assert error is not None
        require_said_well(error)
        assert any("surprise" in problem.field for problem in error.problems), place


@pytest.mark.parametrize(
    "text",
    [
        "", " ", "\n", "null", "[]", "{}", "[1]", '"x"', "{", "[" * 100_000, "NaN", "1e999",
        '{"format": "jigbook.survey/2", "points": []}', '{"format": 3}',
        '{"format": "x", "format": "y"}',
        '{"format": "jigbook.survey/1"}', '{"format": "jigbook.survey/1", "points": []}',
        '{"format": "jigbook.survey/1", "points": {}}', '{"format": "jigbook.reference/1"}',
        '{"format": "jigbook.survey/1", "points": [' + "1" * 5000 + "]}",
        "PK\x03\x04\x00\x00", "%PDF-1.7", "=cmd|' /C calc'!A0", "a,b,c", "x" * 999_999,
        "{" + '"a":{' * 20_000,
    ],
    ids=lambda text: text[:20] or "nothing",
)  # fmt: skip
def test_a_text_that_is_no_survey_is_refused_in_words(text: str) -> None:
    error = outcome(lambda: read_survey(text.encode()))
    assert error is not None
    require_said_well(error)
    other = outcome(lambda: read_reference(text.encode()))
    assert other is not None
    require_said_well(other)


@pytest.mark.parametrize(
    ("content", "code"),
    [
        (b"\xff\xfe\x00", "not_utf8"),
        (b"\x80" * 100, "not_utf8"),
        (b"", "file_empty"),
        (b"\xef\xbb\xbf", "file_empty"),
        (b" " * 1_000_001, "file_too_big"),
        ("ä".encode("latin-1"), "not_utf8"),
        (b"[]", "not_a_survey"),
        (b"{not json}", "not_json"),
        (b'{"format": "jigbook.survey/1", "format": "jigbook.survey/1"}', "key_twice"),
        (b'{"format": "jigbook.reference/1", "characteristics": {}}', "not_a_survey"),
    ],
)
def test_a_file_that_is_no_survey_is_refused_with_its_code(content: bytes, code: str) -> None:
    error = outcome(lambda: read_survey(content))
    assert error is not None
    assert error.code == code
    require_said_well(error)


def test_numbers_that_are_none_are_refused_by_their_field() -> None:
    text = json.dumps(SURVEY).replace('"x": 1.0', '"x": NaN').replace('"z": 3}', '"z": 1e999}')
    error = outcome(lambda: survey_from(read_json(text.replace('"y": -2', '"y": -Infinity'))))
    assert error is not None
    assert [(p.code, p.field) for p in error.problems] == [
        ("not_finite", "points.0.x"),
        ("not_finite", "points.1.y"),
    ]


CELLS = ("", "three", "1,5", "1.234,5", "NaN", "inf", "1e999", "=1+1", "Приве́т", "٣", "1_000",
         "0x10", "−1", "\u202e1", "1 2", "'1", "--1", "x" * 200_000, "true")  # fmt: skip


@pytest.mark.parametrize("row", range(3))
@pytest.mark.parametrize("column", range(9))
def test_no_cell_of_a_csv_passes_unseen_or_fails_otherwise(row: int, column: int) -> None:
    lines = CSV.splitlines()
    for cell in CELLS:
        cells = lines[row + 1].split(",")
        cells[column] = f'"{cell}"'
        text = "\n".join([*lines[: row + 1], ",".join(cells), *lines[row + 2 :]])
        error = outcome(lambda text=text: read_survey(text.encode()))  # type: ignore[misc]
        if error is None:
            assert good_cell(lines[0].split(",")[column], cell), cell
        else:
            require_said_well(error)
            assert all(p.field.startswith((f"rows.{row + 2}", "rows")) for p in error.problems)


def good_cell(column: str, cell: str) -> bool:
    if cell == "":
        return column in {"label", "station", "offset", "turn"}
    is_name = re.fullmatch("[a-z0-9_]{1,60}", cell) is not None
    return is_name and column in {"label", "station"}


def test_a_csv_is_refused_whole_and_every_wrong_cell_is_named() -> None:
    text = CSV + "pivot,left,,oops,2,nan,0.1,,\npivo,left,,1,2,,0.1,,\n"
    error = outcome(lambda: read_survey(text.encode()))
    assert error is not None
    assert [(problem.code, problem.field) for problem in error.problems] == [
        ("not_a_number", "rows.5.x"),
        ("not_finite", "rows.5.z"),
        ("unknown_feature", "rows.6.feature"),
        ("missing", "rows.6.z"),
    ]


def test_rows_of_another_length_are_all_named_before_anything_else() -> None:
    text = CSV + "pivot,left,,oops,2,3,0.1,,\npivot,left\npivot\n"
    error = outcome(lambda: read_survey(text.encode()))
    assert error is not None
    assert [problem.field for problem in error.problems] == ["rows.6", "rows.7"]


@pytest.mark.parametrize("header", ["feature", "feature,x,y,z", "feature;label;station;x;y;z;u;w",
                                    "a", "feature,feature,label,station,x,y,z,u"])  # fmt: skip
def test_a_header_is_refused_with_what_it_lacks_or_has_too_much(header: str) -> None:
    error = outcome(lambda: read_survey(f"{header}\n1\n".encode()))
    assert error is not None
    assert {p.code for p in error.problems} <= {"unknown_column", "column_missing", "column_twice"}
    require_said_well(error)


def test_too_many_rows_are_refused() -> None:
    text = "feature,label,station,x,y,z,u\n" + "pivot,,,1,2,3,1\n" * 5001
    error = outcome(lambda: read_survey(text.encode()))
    assert error is not None
    assert error.code == "too_many_rows"


def test_thousands_of_problems_are_counted_and_not_all_listed() -> None:
    content = examples.survey()
    content["points"] = [{"feature": "pivot", "x": "a", "y": "b", "z": None}] * 2000
    error = outcome(lambda: survey_from(content))
    assert error is not None
    assert len(error.problems) == 101
    assert error.problems[-1] == Problem("more_problems", "", {"met": 5900})
