"""The command line as a whole: finding commands, exit codes, never a traceback."""

import importlib
import json
import os
import subprocess
import sys
from collections.abc import Callable
from types import SimpleNamespace
from typing import Any

import pytest

from app import cli
from app.errors import NotFound
from tests.cli import JIGBOOK

Fake = Callable[..., None]


@pytest.fixture
def command(monkeypatch: pytest.MonkeyPatch) -> Fake:
    """Put a command in the table that does what the test says."""

    def put(run: Callable[[Any], int]) -> None:
        def register(parser: Any) -> None:
            parser.add_argument("--json", action="store_true")

        module = SimpleNamespace(register=register, run=run)
        monkeypatch.setitem(cli.COMMANDS, "try", ("command_to_try", "a command for this test"))
        monkeypatch.setitem(sys.modules, "command_to_try", module)

    return put


def raising(error: BaseException) -> Callable[[Any], int]:
    def run(args: Any) -> int:
        raise error

    return run


def test_the_exit_code_is_the_commands_own(command: Fake) -> None:
    command(lambda args: 3)
    assert cli.main(["try"]) == 3


def test_an_error_of_our_own_is_one_sentence_and_exit_2(
    command: Fake, capsys: pytest.CaptureFixture[str]
) -> None:
    command(raising(NotFound("no_such_job", "job", number="J-2026-0001")))
    assert cli.main(["try"]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert len(err.splitlines()) == 1


def test_an_error_is_json_when_json_was_asked_for(
    command: Fake, capsys: pytest.CaptureFixture[str]
) -> None:
    command(raising(NotFound("no_such_job", "job", number="J-2026-0001")))
    assert cli.main(["try", "--json"]) == 2
    error = json.loads(capsys.readouterr().err)["error"]
    assert error["code"] == "no_such_job"
    assert error["feature"] == "job"
    assert error["message"]


def test_an_unexpected_error_is_a_sentence_and_exit_1(
    command: Fake, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    command(raising(ZeroDivisionError("by nought")))
    monkeypatch.delenv("JIGBOOK_TRACEBACK", raising=False)
    assert cli.main(["try"]) == 1
    err = capsys.readouterr().err
    assert "Traceback" not in err
    assert "by nought" in err
    assert "JIGBOOK_TRACEBACK=1" in err


def test_the_traceback_is_shown_on_request(
    command: Fake, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    command(raising(ZeroDivisionError("by nought")))
    monkeypatch.setenv("JIGBOOK_TRACEBACK", "1")
    assert cli.main(["try"]) == 1
    assert "Traceback" in capsys.readouterr().err


def test_an_interrupted_command_ends_silently(
    command: Fake, capsys: pytest.CaptureFixture[str]
) -> None:
    command(raising(KeyboardInterrupt()))
    assert cli.main(["try"]) == 130
    assert capsys.readouterr().err == ""


@pytest.mark.parametrize("words", [["nonsense"], ["--nonsense"], ["verify", "--nonsense", "a.pdf"]])
def test_a_line_that_cannot_be_understood_is_refused(
    words: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert cli.main(words) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert "nonsense" in err
    assert "Traceback" not in err


def test_the_overview_names_every_command(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["--help"]) == 0
    out = capsys.readouterr().out
    for name, (_, summary) in cli.COMMANDS.items():
        assert f"  {name} " in out
        assert summary in out


def test_no_command_at_all_shows_the_overview_and_is_refused(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert cli.main([]) == 2
    assert "usage: jigbook" in capsys.readouterr().out


@pytest.mark.parametrize("name", sorted(cli.COMMANDS))
def test_every_command_can_say_what_it_takes(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        cli.main([name, "--help"])
    assert ended.value.code == 0
    assert "usage:" in capsys.readouterr().out


@pytest.mark.parametrize("name", sorted(cli.COMMANDS))
def test_every_command_offers_register_and_run(name: str) -> None:
    module = importlib.import_module(cli.COMMANDS[name][0])
    assert callable(module.register)
    assert callable(module.run)
    assert module.__doc__


def test_starting_imports_no_command_and_nothing_heavy() -> None:
    """A command's module is imported only when it runs: else `solve` would wait for the web."""
    heavy = ("numpy", "pydantic", "sqlalchemy", "fastapi", "weasyprint", "uvicorn", "asyncio")
    code = (
        "import sys, app.cli; app.cli.main(['--version']); "
        f"print([m for m in {heavy!r} if m in sys.modules], "
        "[m for m in sys.modules if m in dict(app.cli.COMMANDS.values())])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "[] []"


def test_a_closed_pipe_ends_without_a_word() -> None:
    reading, writing = os.pipe()
    os.close(reading)
    try:
        done = subprocess.run(
            [*JIGBOOK, "--help"],
            stdout=writing,
            stderr=subprocess.PIPE,
            text=True,
            check=False,
        )
    finally:
        os.close(writing)
    assert done.returncode == 141
    assert done.stderr == ""
