"""Set-up of a source checkout, with the standard library alone: system packages, then `.venv`.

It runs under whatever Python the user typed, ends by replacing itself with the Python of
`.venv`, and does nothing at all in an installed copy.
"""

import contextlib
import fcntl
import hashlib
import json
import os
import shutil
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Never

from app import system_packages

ROOT = Path(__file__).resolve().parent.parent
VENV = ROOT / ".venv"
PYTHON = VENV / "bin" / "python"
STAMP = VENV / "set-up.stamp"
LOCK = ROOT / ".venv.lock"
PINS = {"run": ROOT / ".ci/requirements.txt", "test": ROOT / ".ci/requirements-test.txt"}

EXIT_FAILED = 1
EXIT_REFUSED = 2
EXIT_INTERRUPTED = 130


def needs_set_up() -> bool:
    """True in a checkout, unless the Python of its `.venv` is the one that runs."""
    in_checkout = all(path.is_file() for path in [ROOT / "pyproject.toml", *PINS.values()])
    return in_checkout and Path(sys.prefix).resolve() != VENV.resolve()


def set_up_and_start(words: list[str]) -> Never:
    """Bring system packages and `.venv` up to date, then go on as the Python of `.venv`."""
    try:
        set_up("test" if words[:1] == ["test"] else "run")
        os.execv(PYTHON, [str(PYTHON), "-m", "app", *words])
    except KeyboardInterrupt:
        say("stopped; the next start begins the set-up again")
        raise SystemExit(EXIT_INTERRUPTED) from None
    except OSError as error:
        say(f"the set-up cannot write or start {error.filename} ({error.strerror})")
        raise SystemExit(EXIT_FAILED) from None


def set_up(purpose: str) -> None:
    """Do what is missing, one start at a time; nothing at all when nothing is missing."""
    if is_current(purpose) and not system_packages.missing_for(purpose):
        return
    with only_one() as lock:
        provide_system_packages(purpose)
        if not is_current(purpose):
            make_current(purpose, lock)


def provide_system_packages(purpose: str) -> None:
    """Install what is missing where this may be done; stop when there is no going on without."""
    missing = system_packages.missing_for(purpose)
    if missing and system_packages.may_install():
        system_packages.install(missing)
        missing = system_packages.missing_for(purpose)
    if not missing:
        return
    say(system_packages.advice(missing))
    if purpose == "test" or (not is_current(purpose) and any(one.needed for one in missing)):
        raise SystemExit(EXIT_REFUSED)
    say("going on without: certificates cannot be made as PDF until then")


@contextlib.contextmanager
def only_one() -> Iterator[int]:
    """Hold the lock of this checkout; a second start waits here until the first is done.

    The programs started meanwhile inherit the lock: when this process is killed, it is free
    only after the last of them has ended.
    """
    descriptor = os.open(LOCK, os.O_RDWR | os.O_CREAT, 0o600)
    try:
        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        say("another start is setting this checkout up: waiting for it")
        fcntl.flock(descriptor, fcntl.LOCK_EX)
    try:
        yield descriptor
    finally:
        os.close(descriptor)


def stamp_for(purpose: str) -> str:
    """What the finished `.venv` is stamped with: a hash of all that it was made from."""
    # Without the build's date: a security update of the same version needs nothing made anew.
    version = [sys.implementation.name, *sys.version_info]
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    pins = PINS[purpose].read_text("utf-8")
    made_from = json.dumps([purpose, version, str(ROOT), project, pins])
    return hashlib.sha256(made_from.encode()).hexdigest()


def has_stamp(purpose: str) -> bool:
    """True when `.venv` was finished for this purpose from these very pins."""
    try:
        return STAMP.read_text("utf-8") == stamp_for(purpose) and os.access(PYTHON, os.X_OK)
    except OSError:
        return False


def is_current(purpose: str) -> bool:
    """True when nothing has to be installed: the environment for tests runs all else too."""
    return has_stamp("test") or (purpose == "run" and has_stamp("run"))


def make_current(purpose: str, lock: int) -> None:
    """Make `.venv` anew; only what was finished for running is kept and added to for tests.

    The stamp goes first and comes last, so that whatever stops this half-way, the next start
    begins again from nothing.
    """
    keep = purpose == "test" and has_stamp("run")
    STAMP.unlink(missing_ok=True)
    if not keep:
        say("making .venv (once; takes about a minute)")
        discard(VENV)
        run([sys.executable, "-m", "venv", str(VENV)], lock)
    say(f"installing the packages pinned in {PINS[purpose].relative_to(ROOT)}")
    pip = [str(PYTHON), "-m", "pip", "install", "-qq", "--no-input"]
    run([*pip, "--require-hashes", "-r", str(PINS[purpose])], lock)
    run([*pip, "--no-deps", "--no-build-isolation", "-e", str(ROOT)], lock)
    write_durably(STAMP, stamp_for(purpose))
    say("set up")


def discard(folder: Path) -> None:
    """Remove an old environment, or the link that stands in its place."""
    if folder.is_symlink() or folder.is_file():
        folder.unlink()
    elif folder.exists():
        shutil.rmtree(folder)


def run(command: list[str], lock: int) -> None:
    """Run one step; say plainly which one failed."""
    environment = {**os.environ, "PIP_USER": "0", "PIP_DISABLE_PIP_VERSION_CHECK": "1"}
    done = subprocess.run(
        command,
        check=False,
        cwd=ROOT,
        env=environment,
        pass_fds=(lock,),
        stdin=subprocess.DEVNULL,
        stdout=sys.stderr,
    )
    if done.returncode != 0:
        say(
            f"a step of the set-up failed (exit {done.returncode}): {' '.join(command)}; "
            "what it printed above says why; start Jigbook again once that is mended"
        )
        raise SystemExit(EXIT_FAILED)


def write_durably(path: Path, text: str) -> None:
    """Write the whole file or nothing, even when the machine stops."""
    half = path.with_suffix(".half")
    with half.open("w", encoding="utf-8") as file:
        file.write(text)
        file.flush()
        os.fsync(file.fileno())
    half.replace(path)


def say(text: str) -> None:
    """Progress goes to standard error: standard output belongs to the command."""
    print(f"jigbook: {text}", file=sys.stderr, flush=True)
