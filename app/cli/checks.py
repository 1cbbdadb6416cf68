"""`python3 -m app test`: every check of the source checkout, one after the other."""

import argparse
import importlib.util
import os
import subprocess
import sys
import time

from app import system_packages
from app.cli.parsing import Parser
from app.errors import Unavailable
from app.resources import CHECKOUT, is_checkout

CHECKS: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("ruff check", ("ruff", "check", ".")),
    ("ruff format", ("ruff", "format", "--check", ".")),
    ("mypy", ("mypy",)),
)


def register(parser: Parser) -> None:
    """Everything that follows goes to pytest."""
    parser.usage = "python3 -m app test [options and paths for pytest]"
    parser.rest_goes_to = "for_pytest"


def run(args: argparse.Namespace) -> int:
    """Run all checks, even after one has failed; 0 when all passed, else 1."""
    require_checkout()
    results = [(name, *timed(command)) for name, command in CHECKS]
    results.append(("pytest", *timed(pytest_command(args.for_pytest))))
    print()
    for name, passed, seconds in results:
        print(f"{'passed' if passed else 'FAILED'}  {name}  ({seconds:.1f} s)")
    return 0 if all(passed for _, passed, _ in results) else 1


def require_checkout() -> None:
    """Raise Unavailable when there is nothing to check, or nothing to check it with."""
    if not is_checkout():
        raise Unavailable("only_in_checkout", None, command="test")
    if importlib.util.find_spec("pytest") is None:
        raise Unavailable("test_packages_missing")
    if missing := system_packages.missing_for("test"):
        raise Unavailable("system_packages_missing", None, advice=system_packages.advice(missing))


def pytest_command(words: list[str]) -> tuple[str, ...]:
    """The whole suite on every core, or what the words ask for."""
    spread = any(word.startswith(("-n", "--numprocesses", "--pdb")) for word in words)
    cores = [] if spread else ["-n", str(os.cpu_count() or 1), "--dist", "worksteal"]
    return ("pytest", *cores, *words)


def timed(command: tuple[str, ...]) -> tuple[bool, float]:
    """Run one check in the checkout: did it pass, and how many seconds did it take."""
    print(f"--- {' '.join(command)}", flush=True)
    start = time.monotonic()
    done = subprocess.run([sys.executable, "-m", *command], check=False, cwd=CHECKOUT)
    return done.returncode == 0, time.monotonic() - start
