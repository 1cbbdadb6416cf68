"""What Jigbook wants from the operating system, how to see that it is there, how to get it.

Standard library alone: it runs before anything is installed.
"""

import ctypes
import importlib.util
import os
import shutil
import subprocess
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

PACKAGE_LISTS = Path("/var/lib/apt/lists")


@dataclass(frozen=True)
class SystemPackage:
    """One package under its Debian name, what it serves, and the look for it."""

    name: str
    serves: str
    is_there: Callable[[], bool]
    needed: bool = False
    """True when nothing can be set up without it."""


def library(stem: str, version: int = 0) -> Callable[[], bool]:
    """A look for a shared library: it is there when it can be loaded."""
    on_macos = sys.platform == "darwin"
    file_name = f"lib{stem}.{version}.dylib" if on_macos else f"lib{stem}.so.{version}"

    def is_there() -> bool:
        try:
            ctypes.CDLL(file_name)
        except OSError:
            return False
        return True

    return is_there


def programs(*names: str) -> Callable[[], bool]:
    """A look for programs: all of them on the search path."""
    return lambda: all(shutil.which(name) for name in names)


TO_RUN = (
    SystemPackage(
        "python3-venv",
        "Python's environments",
        lambda: importlib.util.find_spec("ensurepip") is not None,
        needed=True,
    ),
    SystemPackage("libpango-1.0-0", "certificates as PDF", library("pango-1.0")),
    SystemPackage("libpangoft2-1.0-0", "certificates as PDF", library("pangoft2-1.0")),
    SystemPackage("libharfbuzz-subset0", "smaller fonts in PDF", library("harfbuzz-subset")),
)
TO_TEST = (
    SystemPackage("chromium", "browser tests", programs(os.environ.get("CHROMIUM") or "chromium")),
    SystemPackage("libatomic1", "what drives the browser", library("atomic", 1)),
    SystemPackage("poppler-utils", "reading PDF", programs("pdftotext", "pdfsig", "pdftoppm")),
    SystemPackage("qpdf", "checking PDF", programs("qpdf")),
    SystemPackage("libnss3-tools", "checking signatures", programs("certutil")),
    SystemPackage("openssl", "checking signatures", programs("openssl")),
)


def missing_for(purpose: str) -> list[SystemPackage]:
    """What this machine lacks to run Jigbook, or to test it as well."""
    wanted = TO_RUN + TO_TEST if purpose == "test" else TO_RUN
    return [package for package in wanted if not package.is_there()]


def may_install() -> bool:
    """True for root on a machine with apt, unless JIGBOOK_NO_SYSTEM=1 forbids it."""
    forbidden = os.environ.get("JIGBOOK_NO_SYSTEM") == "1"
    return not forbidden and is_root() and shutil.which("apt-get") is not None


def command_line(packages: Sequence[SystemPackage]) -> list[str]:
    """The line that installs the packages."""
    names = [package.name for package in packages]
    return ["apt-get", "install", "--yes", "--no-install-recommends", *names]


def advice(packages: Sequence[SystemPackage]) -> str:
    """What is missing, what for, and what to type."""
    served = "; ".join(f"{package.name} ({package.serves})" for package in packages)
    line = " ".join(command_line(packages))
    if shutil.which("apt-get") is None:
        return f"this machine lacks {served}: install them, here under their Debian names"
    return f"this machine lacks {served}: install with\n  {'' if is_root() else 'sudo '}{line}"


def is_root() -> bool:
    """True when this process may change the system."""
    return os.geteuid() == 0


def install(packages: Sequence[SystemPackage]) -> None:
    """Run the line, after refreshing apt's lists where they are absent or too old for it."""
    line = command_line(packages)
    print("jigbook: " + " ".join(line), file=sys.stderr, flush=True)
    fresh = any(PACKAGE_LISTS.glob("*_Packages*"))
    if fresh and run_apt(line):
        return
    if run_apt(["apt-get", "update"]):
        run_apt(line)


def run_apt(line: Sequence[str]) -> bool:
    """Run apt without questions, waiting for another apt to end; True when it went well."""
    environment = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    waiting = ["-qq", "-o", "DPkg::Lock::Timeout=300"]
    done = subprocess.run(
        [line[0], *waiting, *line[1:]],
        check=False,
        env=environment,
        stdin=subprocess.DEVNULL,
        stdout=sys.stderr,
    )
    return done.returncode == 0
