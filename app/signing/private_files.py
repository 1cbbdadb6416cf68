"""Files that only their owner can read, replaced in one step and flushed to the disk."""

import fcntl
import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


def write_private(path: Path, content: bytes) -> None:
    """Write a file that only its owner can read, replacing an old one in one step."""
    aside = path.with_name(f".{path.name}.new")
    aside.unlink(missing_ok=True)
    descriptor = os.open(aside, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(descriptor, "wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())
    os.replace(aside, path)
    sync_folder(path.parent)


def sync_folder(folder: Path) -> None:
    """Flush the names of a folder, so that what was renamed stays so when the power fails."""
    descriptor = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


@contextmanager
def alone_in(folder: Path) -> Iterator[None]:
    """Nobody else who asks for the same folder goes on meanwhile, in this program or another.

    Whoever opens the keys then sees them as they were before a renewal or after it, and never some
    files of each. It does not nest.
    """
    descriptor = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        fcntl.flock(descriptor, fcntl.LOCK_EX)
        yield
    finally:
        os.close(descriptor)
