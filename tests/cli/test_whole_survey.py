"""`jigbook solve` of a machine that was measured all over: every line, its budget and its sense."""

import json
import re
from typing import Any

import pytest

from app import resources
from app.cli import main
from app.wording import sources
from app.wording.sections import TITLES

SEED = resources.seed_data()
WORDS = ["solve", str(SEED / "full-survey.json"), "--reference", str(SEED / "full-reference.json")]


@pytest.fixture
def told(capsys: pytest.CaptureFixture[str]) -> str:
    assert main(WORDS) == 0
    return capsys.readouterr().out


@pytest.fixture
def answer(capsys: pytest.CaptureFixture[str]) -> Any:
    assert main([*WORDS, "--json"]) == 0
    return json.loads(capsys.readouterr().out)


def in_one_line(text: str) -> str:
    return " ".join(text.split())


def test_every_characteristic_is_printed_with_verdict_sense_and_budget(
    told: str, answer: Any
) -> None:
    text = in_one_line(told)
    assert len(answer["characteristics"]) > 40
    for one in answer["characteristics"]:
        assert one["name"] in text
        assert one["sense"] in text
    budgets = sum(bool(one["budget"]) for one in answer["characteristics"])
    assert text.count("uncertainty from ") == budgets


def test_the_lines_stand_in_sections(told: str) -> None:
    lines = told.splitlines()
    places = [lines.index(title) for title in TITLES.values()]
    assert places == sorted(places)


def test_the_budget_says_what_would_reduce_each_source(answer: Any) -> None:
    for one in answer["characteristics"]:
        shares = [part["share"] for part in one["budget"]]
        assert shares == sorted(shares, reverse=True)
        assert sum(shares) == pytest.approx(1.0) or one["set_by_levelling"]
        for part in one["budget"]:
            assert part["reduce"] == sources.reduce(part["source"])
            assert part["reduce"], part["source"]


def test_what_would_reduce_the_uncertainty_is_said_once_for_each_source(told: str) -> None:
    text = in_one_line(told)
    advice = text[text.index("What would reduce the uncertainty most") :]
    assert advice.count("use a longer bar through it") >= 1
    assert advice.count("measure the control points again") == 1


def test_handling_is_printed_with_its_caveat(told: str, answer: Any) -> None:
    text = in_one_line(told)
    assert "Handling, for information only" in text
    assert len(answer["handling"]) == 5
    for one in answer["handling"].values():
        assert one["sense"] in text
    assert "no finding rests on these figures" in text


def test_the_run_out_of_the_fork_is_half_the_reading(told: str, answer: Any) -> None:
    survey = json.loads((SEED / "full-survey.json").read_text(encoding="utf-8"))
    for side, reading in survey["fork_runout_mm"].items():
        assert answer["fork_bend_mm"][side] == reading / 2.0
        assert f"The {side} fork leg is bent by" in in_one_line(told)


def test_no_number_carries_a_minus_sign(told: str) -> None:
    assert re.findall(r"(?<![\w-])[-\N{MINUS SIGN}]\d", told) == []
