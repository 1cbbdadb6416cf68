"""`jigbook solve` beyond one survey by itself: --plan, --combine, --change."""

import json
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

import pytest

from app import resources
from tests.cli.conftest import Jigbook

SEED = resources.seed_data()
REFERENCE = ["--reference", str(SEED / "reference.json")]
BENT, AFTER, MOVED = (
    str(SEED / name)
    for name in ("before-head-bent.json", "after-corrected.json", "before-set-up-moved.json")
)


@pytest.fixture
def solve(jigbook: Jigbook) -> Jigbook:
    return partial(jigbook, "solve")


def written(path: Path, change: Callable[[Any], None], of: str = BENT) -> str:
    """A survey file like one of the seed's, changed."""
    document = json.loads(Path(of).read_text(encoding="utf-8"))
    change(document)
    path.write_text(json.dumps(document), encoding="utf-8")
    return str(path)


def measured_again(document: Any) -> None:
    """As if measured anew: all points elsewhere in the instrument's axes, by rounding apart."""
    for point in document["points"]:
        point["x"] = round(point["x"] + 100.0, 2)


def without_stations(document: Any) -> None:
    document["points"] = [p for p in document["points"] if p.get("station") in (None, "1", "2")]


def answer(solve: Jigbook, *words: str) -> Any:
    code, out, err = solve(*words, *REFERENCE, "--json")
    assert (code, err) == (0, ""), err
    return json.loads(out)


def test_a_plan_stands_in_the_result(solve: Jigbook) -> None:
    plan = answer(solve, BENT, "--plan")["plan"]
    assert plan["needed_first"] is None
    assert plan["best"]["message"] == plan["candidates"][0]["message"]
    assert plan["looked_at"] in plan["best"]["expanded_uncertainty"]
    assert "bring the uncertainty of" in plan["best"]["message"]
    assert "plan" not in answer(solve, BENT)


def test_a_plan_reads_as_sentences(solve: Jigbook) -> None:
    code, out, err = solve(BENT, *REFERENCE, "--plan")
    assert (code, err) == (0, "")
    told = " ".join(out.split())
    assert "What to measure next: every characteristic with a limit is decided" in told
    assert "one more station, the steering about" in told


def test_a_plan_before_it_can_be_solved_says_what_is_needed_first(
    solve: Jigbook, tmp_path: Path
) -> None:
    started = written(tmp_path / "started.json", without_stations)
    code, out, err = solve(started, *REFERENCE, "--plan", "--json")
    plan = json.loads(out)["plan"]
    assert code == 2
    assert plan["needed_first"]["code"] == "too_few_stations"
    assert plan["message"] == json.loads(err)["error"]["message"]
    code, out, err = solve(started, BENT, *REFERENCE, "--plan", "--json")
    refused, solved = json.loads(out)
    assert (code, refused["error"]["code"]) == (2, "too_few_stations")
    assert refused["plan"]["best"] is None
    assert solved["plan"]["best"] is not None


def test_surveys_of_one_phase_are_combined(solve: Jigbook, tmp_path: Path) -> None:
    again = written(tmp_path / "again.json", measured_again)
    single, together = answer(solve, BENT), answer(solve, BENT, again, "--combine")
    assert together["combined"]["surveys"] == 2
    assert together["combined"]["statistic"] < together["combined"]["limit"]
    u = [
        {one["key"]: one["standard_uncertainty"] for one in result["characteristics"]}
        for result in (single, together)
    ]
    assert 0.70 < u[1]["head_twist"] / u[0]["head_twist"] < 0.72
    # Most of the width's uncertainty is the ball and the faces, which both surveys share.
    assert u[1]["pivot_width"] / u[0]["pivot_width"] > 0.75
    code, out, _ = solve(BENT, again, *REFERENCE, "--combine")
    assert code == 0
    assert "2 measurements combined by weight" in " ".join(out.split())


@pytest.mark.parametrize(
    ("others", "code"),
    [
        ([], "combine_too_few"),
        ([BENT], "combine_same"),
        ([MOVED], "combine_moved"),
        ([AFTER], "combine_differs"),
    ],
)
def test_what_cannot_be_combined_is_refused_with_its_reason(
    solve: Jigbook, others: list[str], code: str
) -> None:
    exit_code, out, err = solve(BENT, *others, *REFERENCE, "--combine", "--json")
    assert (exit_code, out) == (2, "")
    assert json.loads(err)["error"]["code"] == code


def test_surveys_that_contradict_are_refused_by_name(solve: Jigbook, tmp_path: Path) -> None:
    def leaning(document: Any) -> None:
        measured_again(document)
        for point in document["points"]:
            if point["feature"] == "steer_target" and point["label"] == "upper":
                point["y"] += 3.0

    wrong = written(tmp_path / "wrong.json", leaning)
    code, _, err = solve(BENT, wrong, *REFERENCE, "--combine", "--json")
    error = json.loads(err)["error"]
    assert (code, error["code"]) == (2, "combine_disagrees")
    assert "most in " in error["message"]


def test_one_refused_file_refuses_the_combination(solve: Jigbook, tmp_path: Path) -> None:
    started = written(tmp_path / "started.json", without_stations)
    code, out, err = solve(BENT, started, *REFERENCE, "--combine", "--json")
    assert (code, out) == (2, "")
    assert json.loads(err)["error"]["code"] == "too_few_stations"


def test_a_change_stands_beside_the_result(solve: Jigbook) -> None:
    result = answer(solve, AFTER, "--change", BENT)
    changes = {one["key"]: one for one in result["change"]["characteristics"]}
    before = {one["key"]: one["value"] for one in answer(solve, BENT)["characteristics"]}
    for one in result["characteristics"]:
        if one["key"] in changes:
            assert changes[one["key"]]["change"] == pytest.approx(one["value"] - before[one["key"]])
    assert changes["head_twist"]["significant"]
    assert changes["head_twist"]["sense"].startswith("turned 1.17° clockwise")
    assert "-" not in changes["head_offset"]["sense"]
    assert "head_height" not in changes
    _, out, _ = solve(AFTER, *REFERENCE, "--change", BENT)
    assert "Change from before, without what both measurements share:" in out


def test_a_change_of_what_was_combined(solve: Jigbook, tmp_path: Path) -> None:
    again = written(tmp_path / "again.json", measured_again, AFTER)
    one = answer(solve, AFTER, "--change", BENT)["change"]
    two = answer(solve, AFTER, again, "--combine", "--change", BENT)["change"]
    twist = [
        next(
            c["standard_uncertainty"] for c in change["characteristics"] if c["key"] == "head_twist"
        )
        for change in (one, two)
    ]
    assert twist[1] < 0.9 * twist[0]


@pytest.mark.parametrize(
    ("words", "code"),
    [
        (["--change", MOVED], "change_moved"),
        (["--change", "no-such-file.json"], "file_missing"),
        (["--change", str(SEED / "reference.json")], "not_a_survey"),
        (["--plan", "--combine"], "options_apart"),
        (["--change", "-", "--reference", "-"], "standard_input_twice"),
    ],
)
def test_bad_input_is_refused_before_anything_is_printed(
    solve: Jigbook, words: list[str], code: str
) -> None:
    rest = [] if "--reference" in words else REFERENCE
    exit_code, out, err = solve(AFTER, *rest, *words, "--json")
    assert exit_code == 2
    assert out == ""
    assert json.loads(err)["error"]["code"] == code
