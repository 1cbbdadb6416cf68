"""`python3 -m app test`: every check of the source checkout, the tests beside all others."""

import argparse
import importlib.util
import os
import subprocess
import sys
import time
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

from app import system_packages
from app.cli.parsing import Parser
from app.errors import Unavailable
from app.resources import CHECKOUT, is_checkout

CHECKS: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("ruff check", ("ruff", "check", ".")),
    ("ruff format", ("ruff", "format", "--check", ".")),
    ("mypy", ("mypy",)),
)
SPREAD = ("--dist", "loadfile", "--no-loadscope-reorder")
"""A file's tests stay together, so that what they share is made once; files go out in the order in
which they were collected, which `tests/conftest.py` begins with the longest."""


@dataclass(frozen=True)
class Outcome:
    """What one check came to. said: what it printed, if that was held back."""

    name: str
    passed: bool
    seconds: float
    said: str = ""


def register(parser: Parser) -> None:
    """Everything that follows goes to pytest."""
    parser.usage = "python3 -m app test [options and paths for pytest]"
    parser.rest_goes_to = "for_pytest"


def run(args: argparse.Namespace) -> int:
    """Run all checks, even after one has failed; 0 when all passed, else 1."""
    require_checkout()
    with ThreadPoolExecutor(max_workers=1) as beside:
        others = [beside.submit(check, *one, hold_back=True) for one in CHECKS]
        tests = check("pytest", pytest_command(args.for_pytest))
    outcomes = [*(one.result() for one in others), tests]
    for outcome in outcomes:
        print(outcome.said, end="")
    print()
    for one in outcomes:
        print(f"{'passed' if one.passed else 'FAILED'}  {one.name}  ({one.seconds:.1f} s)")
    return 0 if all(one.passed for one in outcomes) else 1


def require_checkout() -> None:
    """Raise Unavailable when there is nothing to check, or nothing to check it with."""
    if not is_checkout():
        raise Unavailable("only_in_checkout", None, command="test")
    if importlib.util.find_spec("pytest") is None:
        raise Unavailable("test_packages_missing")
    if missing := system_packages.missing_for("test"):
        raise Unavailable("system_packages_missing", None, advice=system_packages.advice(missing))


def pytest_command(words: Sequence[str]) -> tuple[str, ...]:
    """The whole suite on every core, or what the words ask for.

    One process more than there are cores: tests in the browser wait for it half of their time.
    """
    spread = any(word.startswith(("-n", "--numprocesses", "--pdb")) for word in words)
    cores = () if spread else ("-n", str((os.cpu_count() or 1) + 1), *SPREAD)
    return ("pytest", *cores, *words)


def check(name: str, command: Sequence[str], *, hold_back: bool = False) -> Outcome:
    """Run one check in the checkout. hold_back: print nothing yet, others are printing."""
    title = f"--- {' '.join(command)}\n"
    if not hold_back:
        print(title, end="", flush=True)
    start = time.monotonic()
    done = subprocess.run(
        [sys.executable, "-m", *command],
        check=False,
        cwd=CHECKOUT,
        env=environment(),
        text=True,
        stdout=subprocess.PIPE if hold_back else None,
        stderr=subprocess.STDOUT if hold_back else None,
    )
    seconds = time.monotonic() - start
    return Outcome(name, done.returncode == 0, seconds, title + done.stdout if hold_back else "")


def environment() -> dict[str, str]:
    """Ours, but what was compiled may be kept: else each of hundreds of processes compiles anew."""
    kept = dict(os.environ)
    kept.pop("PYTHONDONTWRITEBYTECODE", None)
    return kept
