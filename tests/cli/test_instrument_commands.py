"""`jigbook check-bar` and `jigbook handedness`: an instrument's own record without a database."""

import json
from pathlib import Path
from typing import Any

import pytest

from app.cli import check_bar, gauge_study, handedness
from app.services import check_bars
from tests.cli.conftest import Jigbook
from tests.services.conftest import one_workshop, workshop, workshop_template
from tests.services.instrument_facts import STEADY, measured, turned_steering, with_bar
from tests.services.workshop import Workshop

__all__ = ["one_workshop", "workshop", "workshop_template"]


@pytest.fixture
def run(jigbook: Jigbook, tmp_path: Path) -> Jigbook:
    def do(command: str, sent: object, *words: str) -> tuple[int, str, str]:
        file = tmp_path / "sent.json"
        file.write_text(json.dumps(sent))
        return jigbook(command, str(file), *words)

    return do


def log(deviations: list[float], **of_last: Any) -> dict[str, Any]:
    """The bar, instrument and readings of `instrument_facts`, as a file."""
    readings: list[dict[str, Any]] = [
        {
            "temperature_c": 20.0,
            "temperature_u_k": 0.5,
            "readings_mm": [500.01 + one, 499.99 + one],
        }
        for one in deviations
    ]
    if readings:
        readings[-1].update(of_last)
    return {
        "format": "jigbook.check_bar/1",
        "bar": {"length_mm": 500.0, "length_u_mm": 0.002, "expansion_per_k": 11.7e-6},
        "instrument": {"standard_uncertainty_mm": 0.1, "scale_u_ppm": 20.0},
        "readings": readings,
    }


def test_a_sound_log_is_in_control(run: Jigbook) -> None:
    code, out, err = run("check-bar", log([*STEADY]))
    assert (code, err) == (0, "")
    assert out.startswith("In control: nothing speaks against the instrument.\n1. ")
    assert "10. 0.001 mm too short; standard uncertainty" in out
    assert "limits" in out.splitlines()[-1]


def test_a_reading_out_of_control_gives_three_until_it_is_explained(run: Jigbook) -> None:
    code, out, _err = run("check-bar", log([*STEADY, 0.06]))
    assert code == 3
    assert "Out of control" in out
    assert "above the upper limit of the chart" in out
    code, out, _err = run("check-bar", log([*STEADY, 0.06], explanation="the sun (invented)"))
    assert code == 0
    assert "explained" in out
    assert run("check-bar", log([]))[1].startswith("The check bar was never measured.")


def test_file_and_records_judge_alike(run: Jigbook, workshop: Workshop) -> None:
    deviations = [*STEADY, 0.06, 0.002, -0.05, 1.0, 0.0]
    arm, bar_id = with_bar(workshop)
    measured(workshop, arm, bar_id, deviations)
    stored = workshop.see(check_bars.log, "desk", arm)
    told = json.loads(run("check-bar", log(deviations), "--json")[1])
    assert told["standing"] == stored.standing
    for one, other in zip(told["readings"], reversed(stored.readings), strict=True):
        assert one["signals"] == list(other.signals)
        assert one["says"] == list(other.says)
        assert one["deviation_u_mm"] == pytest.approx(other.deviation_u_mm, rel=1e-12)
        if other.limits is not None:
            assert one["chart"]["upper"] == pytest.approx(other.limits.upper, rel=1e-12)
            assert one["chart"]["average"] == pytest.approx(other.limits.average, rel=1e-12)


def test_a_log_may_begin_anew(run: Jigbook) -> None:
    readings = log([*STEADY, 0.06])["readings"]
    readings[-1] |= {"explanation": "probe changed (invented)", "begin_anew": True}
    shifted = log([0.06 + one for one in STEADY])["readings"]
    told = json.loads(run("check-bar", {**log([]), "readings": [*readings, *shifted]}, "--json")[1])
    assert [one["in_control"] for one in told["readings"]] == [True] * 10 + [False] + [True] * 10
    assert [one["chart"] is None for one in told["readings"][11:]] == [True] * 8 + [False] * 2


@pytest.mark.parametrize(
    ("sent", "code"),
    [
        ([], "not_a_check_bar_log"),
        ({"format": "jigbook.survey/1"}, "not_a_check_bar_log"),
        ({**log([0.0]), "shade": 1}, "unknown_key"),
        (log([0.0], readings_mm=[]), "too_few"),
        (log([0.0], temperature_c="warm"), "wrong_type"),
    ],
    ids=["list", "survey", "unknown", "empty", "text"],
)
def test_what_is_no_log_is_refused(run: Jigbook, sent: object, code: str) -> None:
    exit_code, _out, err = run("check-bar", sent, "--json")
    assert exit_code == 2
    assert json.loads(err)["error"]["code"] == code


def test_handedness_of_the_axes_is_told(run: Jigbook) -> None:
    code, out, err = run("handedness", turned_steering())
    assert (code, err) == (0, "")
    assert out == "the instrument's axes are right-handed (2 targets, 4 stations)\n"
    code, out, _err = run("handedness", turned_steering(mirrored=True), "--json")
    assert code == 3
    told = json.loads(out)
    assert told["verdict"] == "left_handed"
    assert told["left_turn_deg"] == pytest.approx(-40.0, abs=1e-6)


def test_a_survey_that_shows_no_turn_is_refused(run: Jigbook) -> None:
    code, _out, err = run("handedness", turned_steering(up=None))
    assert code == 2
    assert "Traceback" not in err


EXAMPLES = {
    "check-bar": (check_bar.EXAMPLE, "In control: "),
    "gauge-study": (gauge_study.EXAMPLE, "2 parts, 2 people, 2 trials"),
    "handedness": (handedness.EXAMPLE, "the instrument's axes are right-handed"),
}


@pytest.mark.parametrize("command", EXAMPLES)
def test_the_help_shows_a_file_that_the_command_takes(
    jigbook: Jigbook, capsys: pytest.CaptureFixture[str], tmp_path: Path, command: str
) -> None:
    example, told = EXAMPLES[command]
    with pytest.raises(SystemExit):
        jigbook(command, "--help")
    assert example in capsys.readouterr().out
    file = tmp_path / "example"
    file.write_text(example, encoding="utf-8")
    code, out, err = jigbook(command, str(file))
    assert (code, err) == (0, "")
    assert out.startswith(told)
