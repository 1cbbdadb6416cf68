"""`jigbook solve`: exit codes, the table, JSON, and no traceback whatever the file holds."""

import io
import json
import os
import re
import sys
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

import pytest

from app import resources
from tests.cli.conftest import Jigbook

SEED = resources.seed_data()
REFERENCE = str(SEED / "reference.json")
BENT, AFTER, MOVED, TABLE = (
    str(SEED / name)
    for name in (
        "before-head-bent.json",
        "after-corrected.json",
        "before-set-up-moved.json",
        "before-head-bent.csv",
    )
)


@pytest.fixture
def solve(jigbook: Jigbook) -> Jigbook:
    return partial(jigbook, "solve")


@pytest.fixture
def standard_input(monkeypatch: pytest.MonkeyPatch) -> Callable[[bytes], None]:
    def give(content: bytes) -> None:
        monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(content)))

    return give


def result(solve: Jigbook, *words: str) -> Any:
    code, out, err = solve(*words, "--json")
    assert code in (0, 3), err
    return json.loads(out)


def values(answer: Any) -> dict[str, float]:
    return {one["key"]: one["value"] for one in answer["characteristics"]}


def test_a_bent_head_is_found_outside_and_the_finding_comes_first(solve: Jigbook) -> None:
    code, out, err = solve(BENT, "--reference", REFERENCE)
    assert (code, err) == (0, "")
    assert out.startswith("Outside the tolerances of reference Invented Works Example 700")
    assert "anticlockwise seen from behind" in out
    assert "rearward of the reference" in out
    assert "Geometry only" in out.splitlines()[-2]


def test_a_corrected_head_is_found_within(solve: Jigbook) -> None:
    code, out, _ = solve(AFTER, "--reference", REFERENCE)
    assert code == 0
    assert out.startswith("All 6 required characteristics are within the tolerances")
    assert "straight" not in out


def test_a_set_up_that_moved_exits_3_and_decides_nothing(solve: Jigbook) -> None:
    code, out, _ = solve(MOVED, "--reference", REFERENCE)
    assert code == 3
    assert out.startswith("Undecided: the set-up moved")
    assert result(solve, MOVED, "--reference", REFERENCE)["rig_check"]["verdict"] == "moved"


def test_no_table_carries_a_bare_minus_sign(solve: Jigbook) -> None:
    for file in (BENT, AFTER, MOVED, TABLE):
        _, out, _ = solve(file, "--reference", REFERENCE)
        assert not re.search(r"(?<![\w])[-−]\d", out), out


def test_the_json_is_a_result_of_format_1(solve: Jigbook) -> None:
    answer = result(solve, BENT, "--reference", REFERENCE)
    assert answer["format"] == "jigbook.result/1"
    assert answer["finding"]["verdict"] == "outside"
    assert answer["levelling"] == "by_height"
    twist = next(one for one in answer["characteristics"] if one["key"] == "head_twist")
    assert twist["sense_code"] == "anticlockwise_from_behind"
    assert twist["sense"] == "1.09° anticlockwise seen from behind, square to the head"
    assert twist["verdict"] == "outside"
    assert twist["required"] is True
    assert sum(part["share"] for part in twist["budget"]) == pytest.approx(1.0)
    size = len(answer["covariance"]["keys"])
    assert [len(row) for row in answer["covariance"]["matrix"]] == [size] * size
    assert answer["outline"]["measured"]


def test_csv_gives_the_same_numbers_as_json(solve: Jigbook) -> None:
    from_json = values(result(solve, BENT, "--reference", REFERENCE))
    beside = ["--part-temperature", "20", "--uncertainty", "0.1"]
    from_csv = values(result(solve, TABLE, "--reference", REFERENCE, *beside))
    assert from_csv == pytest.approx(from_json, abs=1e-6)


def test_csv_with_upward_has_its_orientation_checked(solve: Jigbook) -> None:
    assert result(solve, TABLE)["orientation"] == "not_checked"
    up = json.loads(Path(BENT).read_text())["up"]
    stated = "--up=" + ",".join(map(str, up))
    assert result(solve, TABLE, stated)["orientation"] == "checked"


def test_without_a_reference_the_numbers_come_without_verdicts(solve: Jigbook) -> None:
    answer = result(solve, BENT)
    assert {one["verdict"] for one in answer["characteristics"]} == {"no_tolerance"}
    assert answer["finding"]["verdict"] == "undecided"
    assert "nothing is required" in answer["finding"]["sentence"]


def test_standard_input_is_read_for_a_dash(
    solve: Jigbook, standard_input: Callable[[bytes], None]
) -> None:
    standard_input(Path(BENT).read_bytes())
    assert values(result(solve, "-", "--reference", REFERENCE)) == values(
        result(solve, BENT, "--reference", REFERENCE)
    )
    code, _, err = solve("-", "--reference", "-")
    assert code == 2
    assert "standard input can be read once" in err


def test_several_surveys_give_a_list_with_a_result_or_an_error_each(
    solve: Jigbook, tmp_path: Path
) -> None:
    broken = tmp_path / "broken.json"
    broken.write_text("{")
    code, out, err = solve(BENT, str(broken), AFTER, "--reference", REFERENCE, "--json")
    assert code == 2
    first, second, third = json.loads(out)
    assert (first["finding"]["verdict"], third["finding"]["verdict"]) == ("outside", "within")
    assert second["error"]["code"] == "not_json"
    assert json.loads(err)["error"]["code"] == "not_json"


def test_several_surveys_are_headed_by_their_names(solve: Jigbook) -> None:
    code, out, _ = solve(BENT, MOVED, "--reference", REFERENCE)
    assert code == 3
    assert BENT in out.splitlines()
    assert MOVED in out.splitlines()


def test_a_higher_threshold_makes_more_undecided(solve: Jigbook) -> None:
    answer = result(solve, BENT, "--reference", REFERENCE, "--threshold", "0.9999")
    assert answer["threshold"] == 0.9999
    verdicts = {one["key"]: one["verdict"] for one in answer["characteristics"]}
    assert verdicts["head_offset"] == "undecided"
    assert verdicts["head_twist"] == "outside"


def test_trials_are_made_and_told(solve: Jigbook) -> None:
    asked = (BENT, "--reference", REFERENCE, "--monte-carlo", "5000", "--seed", "7")
    answer, again = result(solve, *asked), result(solve, *asked)
    assert answer == again
    made = answer["monte_carlo"]
    assert (made["trials"], made["seed"], made["needed"]) == (5000, 7, False)
    told = {one["key"]: one for one in made["characteristics"]}
    by_first_order = result(solve, BENT, "--reference", REFERENCE)
    assert "monte_carlo" not in by_first_order
    for one, other in zip(
        answer["characteristics"], by_first_order["characteristics"], strict=True
    ):
        assert one["value"] == other["value"]
        if not one["set_by_levelling"]:
            u = other["standard_uncertainty"]
            assert one["standard_uncertainty"] == told[one["key"]]["standard_uncertainty"]
            # Five times what 5000 trials leave to chance: 1 / sqrt(2 * 5000).
            assert one["standard_uncertainty"] == pytest.approx(u, rel=0.05)
            assert told[one["key"]]["low"] < one["value"] < told[one["key"]]["high"]
    code, out, _ = solve(*asked)
    assert code == 0
    assert " ".join(made["sentence"].split()) in " ".join(out.split())


@pytest.mark.parametrize(
    ("words", "code"),
    [
        (["--threshold", "1"], "threshold_out_of_range"),
        (["--threshold", "0.2"], "threshold_out_of_range"),
        (["--threshold", "nan"], "not_finite"),
        (["--threshold", "much"], "not_a_number"),
        (["--uncertainty", "0.1"], "option_for_csv_only"),
        (["--up", "0,0,1"], "option_for_csv_only"),
        (["--monte-carlo", "0"], "whole_number_out_of_range"),
        (["--monte-carlo", "-5"], "whole_number_out_of_range"),
        (["--monte-carlo", "10000001"], "whole_number_out_of_range"),
        (["--monte-carlo", "1000.5"], "whole_number_out_of_range"),
        (["--monte-carlo", "many"], "not_a_number"),
        (["--seed", "-1"], "whole_number_out_of_range"),
        (["--digits", "9"], "whole_number_out_of_range"),
        (["--monte-carlo", "1000", "--combine"], "options_apart"),
        (["--surprise"], "bad_command_line"),
    ],
)
def test_an_option_that_cannot_be_followed_is_refused(
    solve: Jigbook, words: list[str], code: str
) -> None:
    exit_code, out, err = solve(BENT, *words, "--json")
    assert (exit_code, out) == (2, "")
    assert json.loads(err)["error"]["code"] == code


@pytest.mark.parametrize(
    ("words", "code"),
    [
        (["--up", "0,0"], "missing"),
        (["--up", "0,0,0"], "up_without_direction"),
        (["--up", "0,0,inf"], "not_finite"),
        (["--up", "0,0,1,0"], "too_many"),
        (["--up", "a,b,c"], "not_a_number"),
        (["--part-temperature", "900"], "too_large"),
        (["--uncertainty", "0"], "too_small"),
    ],
)
def test_what_stands_beside_a_csv_is_checked_like_the_rest(
    solve: Jigbook, words: list[str], code: str
) -> None:
    exit_code, _, err = solve(TABLE, *words, "--json")
    assert exit_code == 2
    assert json.loads(err)["error"]["code"] == code


@pytest.mark.parametrize(
    ("content", "code"),
    [
        (b"", "file_empty"),
        (b"\x7fELF\x02\x01\x01\x00\xff\xfe", "not_utf8"),
        (b"x" * 1_000_001, "file_too_big"),
        (b"{", "not_json"),
        (b"[]", "not_a_survey"),
        (b"a,b,c\n1,2,3\n", "unknown_column"),
        (b'{"format": "jigbook.survey/1", "points": [{"feature": "pivot", "x": NaN, "y": 1, '
         b'"z": 1e999}]}', "not_finite"),
        (b"feature,label,station,x,y,z,u\npivot,left,,1,2,3,0.1\n", "too_few_points"),
    ],
)  # fmt: skip
def test_a_file_that_cannot_be_solved_is_refused_in_words(
    solve: Jigbook, tmp_path: Path, content: bytes, code: str
) -> None:
    file = tmp_path / "sent"
    file.write_bytes(content)
    exit_code, out, err = solve(str(file), "--json")
    assert (exit_code, out) == (2, "")
    error = json.loads(err)["error"]
    assert error["code"] == code
    assert error["message"]
    exit_code, _, err = solve(str(file))
    assert exit_code == 2
    assert "Traceback" not in err
    assert ";" in err


def test_what_is_no_file_is_refused(solve: Jigbook, tmp_path: Path) -> None:
    locked = tmp_path / "locked"
    locked.write_text("{}")
    codes = {}
    for name, path in [
        ("missing", str(tmp_path / "nowhere.json")),
        ("folder", str(tmp_path)),
        ("endless", os.devnull),
        ("nul", "a\0b"),
        ("long", "x" * 5000),
    ]:
        exit_code, _, err = solve(path, "--json")
        assert exit_code == 2
        codes[name] = json.loads(err)["error"]["code"]
    assert codes == {
        "missing": "file_missing",
        "folder": "file_is_folder",
        "endless": "file_empty",
        "nul": "file_unreadable",
        "long": "file_unreadable",
    }


def test_a_survey_given_as_reference_is_refused(solve: Jigbook) -> None:
    exit_code, _, err = solve(BENT, "--reference", BENT, "--json")
    assert exit_code == 2
    assert json.loads(err)["error"]["code"] == "not_a_reference"
