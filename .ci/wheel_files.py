"""Says whether a wheel holds what the checkout tracks, and nothing else.

python .ci/wheel_files.py dist/jigbook-0.1.0-py3-none-any.whl
"""

import re
import subprocess
import sys
import zipfile
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
BUNDLED = ("migrations", "templates", "static", "seed_data")
SECRET = re.compile(r"\.(db|sqlite3?|sqlite3-(wal|shm)|key|pem|p12|pfx|password|log)$", re.I)


def expected_files(tracked: list[str]) -> set[str]:
    """Where each tracked file of the program stands in the wheel."""
    app = {name for name in tracked if name.startswith("app/")}
    return app | {f"app/_bundled/{name}" for name in tracked if name.split("/")[0] in BUNDLED}


def complaints(inside: list[str], tracked: list[str]) -> list[str]:
    """What is wrong with the wheel's list of files."""
    files = {name for name in inside if not re.match(r"jigbook-[^/]+\.dist-info/", name)}
    expected = expected_files(tracked)
    wrong = [f"not tracked, but in the wheel: {name}" for name in sorted(files - expected)]
    wrong += [f"tracked, but not in the wheel: {name}" for name in sorted(expected - files)]
    wrong += [
        f"looks like a secret or a database: {name}" for name in inside if SECRET.search(name)
    ]
    wrong += [
        f"no file of {folder}/ is in the wheel"
        for folder in BUNDLED
        if not any(name.startswith(f"app/_bundled/{folder}/") for name in files)
    ]
    return wrong


def tracked_files() -> list[str]:
    """The names of all files that git tracks."""
    command = ["git", "ls-files", "-z"]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True)
    return [name for name in done.stdout.split("\0") if name]


def main() -> int:
    """Check the wheel that the command line names."""
    with zipfile.ZipFile(sys.argv[1]) as wheel:
        inside = [name for name in wheel.namelist() if not name.endswith("/")]
    wrong = complaints(inside, tracked_files())
    print("\n".join(wrong) or f"the wheel holds {len(inside)} files, all of them tracked")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
