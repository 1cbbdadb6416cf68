"""`python3 -m app test`: which checks run, what is told of them, and how the tests are spread."""

import argparse
import os
from pathlib import Path

import pytest

from app.cli import checks
from app.errors import Unavailable

PASSING = ("py_compile", "fine.py")
FAILING = ("py_compile", "broken.py")


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder that passes for a checkout, in which checks are cheap."""
    (tmp_path / "fine.py").write_text("1\n")
    (tmp_path / "broken.py").write_text("1 +\n")
    monkeypatch.setattr(checks, "CHECKOUT", tmp_path)
    monkeypatch.setattr(checks, "require_checkout", lambda: None)
    return tmp_path


def told_of(monkeypatch: pytest.MonkeyPatch, quick: tuple[str, ...], tests: tuple[str, ...]) -> int:
    """The exit code when these are the checks."""
    monkeypatch.setattr(checks, "CHECKS", (("quick one", quick),))
    monkeypatch.setattr(checks, "pytest_command", lambda words: (*tests, *words))
    return checks.run(argparse.Namespace(for_pytest=[]))


def test_all_passed_is_0(
    monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    assert told_of(monkeypatch, PASSING, PASSING) == 0
    out, _ = capfd.readouterr()
    assert "FAILED" not in out
    assert [line.split("  ")[:2] for line in out.splitlines()[-2:]] == [
        ["passed", "quick one"],
        ["passed", "pytest"],
    ]


@pytest.mark.parametrize(
    ("quick", "tests", "failed"),
    [(FAILING, PASSING, "quick one"), (PASSING, FAILING, "pytest")],
)
def test_one_failed_check_is_1_and_its_words_are_told(
    quick: tuple[str, ...],
    tests: tuple[str, ...],
    failed: str,
    monkeypatch: pytest.MonkeyPatch,
    capfd: pytest.CaptureFixture[str],
) -> None:
    """What a check printed is held back until the tests are through, not lost."""
    assert told_of(monkeypatch, quick, tests) == 1
    out, err = capfd.readouterr()
    assert f"FAILED  {failed}" in out
    assert out.count("FAILED") == 1
    assert out.count("passed") == 1
    assert "SyntaxError" in out + err


def test_the_suite_has_a_process_more_than_cores_and_whoever_says_otherwise_is_heard() -> None:
    alone = checks.pytest_command(["tests/chassis"])
    assert alone[1:3] == ("-n", str((os.cpu_count() or 1) + 1))
    assert alone[-1] == "tests/chassis"
    for words in (["-n0"], ["--numprocesses=1"], ["--pdb"]):
        assert checks.pytest_command(words) == ("pytest", *words)


def test_checks_keep_what_they_compile(monkeypatch: pytest.MonkeyPatch, folder: Path) -> None:
    monkeypatch.setenv("PYTHONDONTWRITEBYTECODE", "1")
    monkeypatch.delenv("PYTHONPYCACHEPREFIX", raising=False)
    (folder / "importing.py").write_text("import fine\n")
    assert checks.check("importing", ("importing",)).passed
    assert "fine" in {path.name.partition(".")[0] for path in folder.glob("__pycache__/*")}


def test_an_installed_copy_has_nothing_to_check(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.undo()
    monkeypatch.setattr(checks, "is_checkout", lambda: False)
    with pytest.raises(Unavailable) as caught:
        checks.require_checkout()
    assert caught.value.code == "only_in_checkout"
