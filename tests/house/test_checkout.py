"""The set-up of a checkout: when it is due, in which order, and what stops it half-way."""

import ast
import fcntl
import os
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from app import checkout, system_packages
from app.system_packages import SystemPackage
from tests.house.source_tree import APP, ROOT

pytestmark = pytest.mark.checkout

PROJECT = '[project]\nname = "jigbook"\ndependencies = ["numpy"]\n'


@pytest.fixture
def tree(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A checkout of a few files in which the set-up would work."""
    (tmp_path / "pyproject.toml").write_text(PROJECT, encoding="utf-8")
    pins = {purpose: tmp_path / f"{purpose}.txt" for purpose in ("run", "test")}
    for purpose, path in pins.items():
        path.write_text(f"pins to {purpose}", encoding="utf-8")
    monkeypatch.setattr(checkout, "ROOT", tmp_path)
    monkeypatch.setattr(checkout, "PINS", pins)
    monkeypatch.setattr(checkout, "VENV", tmp_path / ".venv")
    monkeypatch.setattr(checkout, "PYTHON", tmp_path / ".venv/bin/python")
    monkeypatch.setattr(checkout, "STAMP", tmp_path / ".venv/set-up.stamp")
    monkeypatch.setattr(checkout, "LOCK", tmp_path / ".venv.lock")
    monkeypatch.setattr(system_packages, "missing_for", lambda purpose: [])
    return tmp_path


class Steps(list[str]):
    """Stands in for the programs that the set-up starts; may be told to fail at one."""

    fail_at = ""

    def run(self, command: list[str], lock: int) -> None:
        line = " ".join(command)
        assert not checkout.STAMP.exists()
        if self.fail_at and self.fail_at in line:
            raise SystemExit(1)
        if "-m venv" in line:
            checkout.PYTHON.parent.mkdir(parents=True)
            checkout.PYTHON.symlink_to(sys.executable)
        self.append(line)


@pytest.fixture
def steps(tree: Path, monkeypatch: pytest.MonkeyPatch) -> Steps:
    recorded = Steps()
    monkeypatch.setattr(checkout, "run", recorded.run)
    return recorded


def test_the_first_start_makes_the_environment_and_the_second_does_nothing(steps: Steps) -> None:
    checkout.set_up("run")
    assert [("venv" in s, "--require-hashes" in s, "-e" in s.split()) for s in steps] == [
        (True, False, False), (True, True, False), (True, False, True),
    ]  # fmt: skip
    steps.clear()
    checkout.set_up("run")
    assert steps == []


@pytest.mark.parametrize("step", ["-m venv", "--require-hashes", "--no-build-isolation"])
def test_what_stopped_half_way_begins_again_from_nothing(steps: Steps, step: str) -> None:
    steps.fail_at = step
    with pytest.raises(SystemExit):
        checkout.set_up("run")
    assert not checkout.is_current("run")
    (checkout.VENV / "left over").mkdir(parents=True)
    steps.clear()
    steps.fail_at = ""
    checkout.set_up("run")
    assert len(steps) == 3
    assert not (checkout.VENV / "left over").exists()


def test_tests_add_to_an_environment_that_runs(steps: Steps) -> None:
    checkout.set_up("run")
    steps.clear()
    checkout.set_up("test")
    assert not any("-m venv" in step for step in steps)
    assert checkout.is_current("run")
    assert checkout.is_current("test")


def test_an_environment_for_tests_serves_to_run(steps: Steps) -> None:
    checkout.set_up("test")
    steps.clear()
    checkout.set_up("run")
    assert steps == []


@pytest.mark.parametrize("changed", ["pins", "dependencies", "python", "folder", "removed"])
def test_the_environment_is_old_when_what_it_was_made_from_has_changed(
    steps: Steps, tree: Path, monkeypatch: pytest.MonkeyPatch, changed: str
) -> None:
    checkout.set_up("run")
    assert checkout.is_current("run")
    if changed == "pins":
        checkout.PINS["run"].write_text("other pins", encoding="utf-8")
    elif changed == "dependencies":
        text = PROJECT.replace("numpy", "numpy>=2")
        (tree / "pyproject.toml").write_text(text, encoding="utf-8")
    elif changed == "python":
        monkeypatch.setattr(sys, "version_info", (3, 99, 0, "final", 0))
    elif changed == "folder":
        monkeypatch.setattr(checkout, "ROOT", APP.parent)
    else:
        checkout.PYTHON.unlink()
    assert not checkout.is_current("run")


def test_a_change_of_other_settings_leaves_the_environment(steps: Steps, tree: Path) -> None:
    checkout.set_up("run")
    (tree / "pyproject.toml").write_text(PROJECT + "[tool.ruff]\n", encoding="utf-8")
    assert checkout.is_current("run")


def test_a_second_start_waits_for_the_first(tree: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code = (
        "import fcntl, sys, time; f = open(sys.argv[1], 'w'); fcntl.flock(f, fcntl.LOCK_EX); "
        "print('held', flush=True); time.sleep(0.5)"
    )
    line = [sys.executable, "-c", code, str(checkout.LOCK)]
    with subprocess.Popen(line, stdout=subprocess.PIPE, text=True) as first:
        assert first.stdout is not None
        assert first.stdout.readline() == "held\n"
        start = time.monotonic()
        with checkout.only_one():
            waited = time.monotonic() - start
    assert waited > 0.2
    assert "waiting" in capsys.readouterr().err


def test_a_program_of_a_killed_start_keeps_the_lock(tree: Path) -> None:
    code = (
        "import os, pathlib, subprocess, sys; from app import checkout; "
        "checkout.LOCK = pathlib.Path(sys.argv[1]); held = checkout.only_one(); "
        "left = subprocess.Popen(['sleep', '30'], stdout=subprocess.DEVNULL, "
        "pass_fds=(held.__enter__(),)); "
        "print(left.pid, flush=True); os.kill(os.getpid(), 9)"
    )
    line = [sys.executable, "-c", code, str(checkout.LOCK)]
    killed = subprocess.run(line, cwd=ROOT, stdout=subprocess.PIPE, text=True, check=False)
    assert killed.returncode == -signal.SIGKILL
    with checkout.LOCK.open() as file:
        with pytest.raises(BlockingIOError):
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        os.kill(int(killed.stdout), signal.SIGKILL)
        fcntl.flock(file, fcntl.LOCK_EX)


def lacking(name: str = "libpango-1.0-0", needed: bool = False) -> SystemPackage:
    return SystemPackage(name, "certificates as PDF", lambda: False, needed)


def lacks(monkeypatch: pytest.MonkeyPatch, *packages: SystemPackage) -> None:
    monkeypatch.setattr(system_packages, "missing_for", lambda purpose: list(packages))
    monkeypatch.setenv("JIGBOOK_NO_SYSTEM", "1")


def test_without_pango_the_program_starts_and_says_what_is_missing(
    steps: Steps, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    lacks(monkeypatch, lacking())
    checkout.set_up("run")
    assert len(steps) == 3
    err = capsys.readouterr().err
    assert "apt-get install --yes --no-install-recommends libpango-1.0-0" in err
    assert "PDF" in err


def test_tests_stop_where_something_is_missing(
    steps: Steps, monkeypatch: pytest.MonkeyPatch
) -> None:
    lacks(monkeypatch, lacking("qpdf"))
    with pytest.raises(SystemExit) as stopped:
        checkout.set_up("test")
    assert stopped.value.code == 2
    assert steps == []


def test_without_ensurepip_there_is_no_first_start_but_a_later_one(
    steps: Steps, monkeypatch: pytest.MonkeyPatch
) -> None:
    with monkeypatch.context() as bare:
        lacks(bare, lacking("python3-venv", needed=True))
        with pytest.raises(SystemExit) as stopped:
            checkout.set_up("run")
        assert stopped.value.code == 2
    checkout.set_up("run")
    steps.clear()
    lacks(monkeypatch, lacking("python3-venv", needed=True))
    checkout.set_up("run")
    assert steps == []


def test_root_with_apt_installs_what_is_missing(
    steps: Steps, monkeypatch: pytest.MonkeyPatch
) -> None:
    missing = [lacking()]
    monkeypatch.setattr(system_packages, "missing_for", lambda purpose: list(missing))
    monkeypatch.setattr(system_packages, "may_install", lambda: True)
    monkeypatch.setattr(system_packages, "install", lambda packages: missing.clear())
    checkout.set_up("test")
    assert missing == []
    assert checkout.is_current("test")


@pytest.mark.parametrize(
    ("forbidden", "is_root", "apt", "may"),
    [("", True, "/bin/apt-get", True), ("1", True, "/bin/apt-get", False),
     ("", False, "/bin/apt-get", False), ("", True, None, False)],
)  # fmt: skip
def test_system_packages_are_installed_only_by_root_with_apt_and_leave(
    monkeypatch: pytest.MonkeyPatch, forbidden: str, is_root: bool, apt: str | None, may: bool
) -> None:
    monkeypatch.setenv("JIGBOOK_NO_SYSTEM", forbidden)
    monkeypatch.setattr(system_packages, "is_root", lambda: is_root)
    monkeypatch.setattr(shutil, "which", lambda name: apt)
    assert system_packages.may_install() is may


def test_apt_reads_its_lists_anew_when_it_has_none(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    lines: list[str] = []

    def run_apt(line: list[str]) -> bool:
        lines.append(" ".join(line[:2]))
        return True

    monkeypatch.setattr(system_packages, "run_apt", run_apt)
    monkeypatch.setattr(system_packages, "PACKAGE_LISTS", tmp_path)
    system_packages.install([lacking()])
    assert lines == ["apt-get update", "apt-get install"]
    (tmp_path / "some_Packages").touch()
    lines.clear()
    system_packages.install([lacking()])
    assert lines == ["apt-get install"]


def test_a_look_for_what_is_not_there_says_so() -> None:
    assert not system_packages.library("no-such-library-of-anybody")()
    assert not system_packages.programs("sh", "no-such-program-of-anybody")()
    assert system_packages.programs("sh")()


def test_the_first_file_parses_on_old_pythons() -> None:
    source = (APP / "__main__.py").read_text(encoding="utf-8")
    module = ast.parse(source, feature_version=(3, 4))
    assert len(source.splitlines()) < 50
    assert not any(isinstance(node, ast.JoinedStr) for node in ast.walk(module))


@pytest.mark.parametrize(
    ("pretence", "words"),
    [
        ("sys.version_info = (3, 9, 2); sys.version = '3.9.2 (main)'", ["3.9.2", "3.11"]),
        ("sys.platform = 'win32'", ["Windows"]),
    ],
)
def test_where_it_cannot_run_it_says_so_in_one_sentence(pretence: str, words: list[str]) -> None:
    code = f"import runpy, sys; {pretence}; runpy.run_module('app', run_name='__main__')"
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode == 2
    assert len(done.stderr.splitlines()) == 1
    assert all(word in done.stderr for word in words)


def test_the_set_up_uses_the_standard_library_alone() -> None:
    """It runs before anything is installed."""
    code = (
        "import sys; sys.path = [p for p in sys.path if 'site-packages' not in p]; "
        f"sys.path.insert(0, {str(ROOT)!r}); import app.checkout, app.cli; print('ok')"
    )
    done = subprocess.run(
        [sys.executable, "-S", "-c", code], cwd="/", capture_output=True, text=True, check=False
    )
    assert done.stdout == "ok\n", done.stderr
