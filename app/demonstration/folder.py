"""The demonstration's own data folder: marked as such, so that no shop's records are touched.

A folder is taken only when it is empty or carries the mark. The mark is written before anything
else and says whether the filling came to its end; a filling that was cut off is begun anew.
"""

import fcntl
import json
import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

import platformdirs

from app.demonstration.shop import Access, Demonstration
from app.errors import Conflict

MARK = "demonstration.json"
LOCK = "demonstration.lock"
FORMAT = "jigbook.demonstration/1"


def default_folder() -> Path:
    """Beside the shop's default folder, never the same."""
    return Path(platformdirs.user_data_path("jigbook-demonstration", appauthor=False))


@dataclass(frozen=True, slots=True)
class Kept:
    """What is told again at every start."""

    people: tuple[Access, ...]
    jobs: int
    claim_job: str | None
    claim_token: str | None
    with_certificates: bool


def refuse_foreign(folder: Path) -> None:
    """Raise Conflict `not_a_demonstration_folder` when something else lies in the folder."""
    if not folder.is_dir():
        return
    others = sorted(entry.name for entry in folder.iterdir() if entry.name != LOCK)
    if others and not (folder / MARK).is_file():
        raise Conflict("not_a_demonstration_folder", None, path=str(folder), met=others[0])


def kept(folder: Path) -> Kept | None:
    """What a filling that came to its end left to be told; None when there is none."""
    try:
        content = json.loads((folder / MARK).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return None
    if not isinstance(content, dict) or content.get("state") != "complete":
        return None
    return Kept(
        people=tuple(Access(**one) for one in content["people"]),
        jobs=content["jobs"],
        claim_job=content["claim_job"],
        claim_token=content["claim_token"],
        with_certificates=content["with_certificates"],
    )


def begin(folder: Path) -> None:
    """Empty a marked folder and mark it as being filled."""
    refuse_foreign(folder)
    for entry in folder.iterdir():
        if entry.name in (MARK, LOCK):
            continue
        if entry.is_dir() and not entry.is_symlink():
            shutil.rmtree(entry)
        else:
            entry.unlink()
    _write(folder, {"format": FORMAT, "state": "filling"})


def finish(folder: Path, made: Demonstration) -> Kept:
    """Mark the folder as filled and keep what is to be told at later starts.

    The passwords lie here in the clear, readable by the folder's owner alone: they open nothing
    but this invented shop.
    """
    told = Kept(
        people=made.people,
        jobs=made.jobs,
        claim_job=made.claim_job,
        claim_token=made.claim_token,
        with_certificates=made.no_certificates is None,
    )
    _write(folder, {"format": FORMAT, "state": "complete", **asdict(told)})
    return told


@contextmanager
def locked(folder: Path) -> Iterator["Lock"]:
    """The folder's lock, to be taken for filling it or for serving from it."""
    descriptor = os.open(folder / LOCK, os.O_CREAT | os.O_RDWR, 0o600)
    try:
        yield Lock(descriptor)
    finally:
        os.close(descriptor)


@dataclass(frozen=True, slots=True)
class Lock:
    descriptor: int

    def alone(self) -> bool:
        """True when nobody else fills the folder or serves from it; nobody can until `share`."""
        try:
            fcntl.flock(self.descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        return True

    def share(self) -> None:
        """Wait until nobody fills the folder; then nobody can while it is served from."""
        fcntl.flock(self.descriptor, fcntl.LOCK_SH)


def _write(folder: Path, content: dict[str, Any]) -> None:
    """The mark is whole or as it was: written beside and put in place."""
    beside = folder / f"{MARK}.new"
    descriptor = os.open(beside, os.O_CREAT | os.O_TRUNC | os.O_WRONLY, 0o600)
    with os.fdopen(descriptor, "w", encoding="utf-8") as file:
        json.dump(content, file, ensure_ascii=False, indent=1)
        file.flush()
        os.fsync(file.fileno())
    beside.replace(folder / MARK)
