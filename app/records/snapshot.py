"""A whole copy of an SQLite database while it is in use."""

import os
import sqlite3
from contextlib import closing
from pathlib import Path

from app.errors import Conflict, Unavailable


def snapshot(source: Path, target: Path) -> None:
    """Copy the database to `target`, which appears only when it is complete and checked.

    Raises Unavailable `snapshot_damaged` when the source cannot be read or its copy fails
    SQLite's own check, `disk_full`.
    """
    unfinished = target.with_name(target.name + ".unfinished")
    unfinished.unlink(missing_ok=True)
    os.close(os.open(unfinished, os.O_CREAT | os.O_EXCL, 0o600))
    try:
        _copy(source, unfinished)
        sync(unfinished)
        unfinished.replace(target)
        sync(target.parent)
    except sqlite3.DatabaseError as error:
        if "full" in str(error):
            raise Unavailable("disk_full") from error
        raise Unavailable("snapshot_damaged", None, path=str(source), found=str(error)) from error
    finally:
        unfinished.unlink(missing_ok=True)


def _copy(source: Path, target: Path) -> None:
    with closing(_open(source)) as old, closing(sqlite3.connect(target)) as new:
        # All pages in one step: with fewer, each write from elsewhere starts the copy again.
        old.backup(new, pages=-1)
        new.execute("PRAGMA journal_mode = DELETE")
    check(target)


def check(file: Path) -> None:
    """Raise Unavailable `snapshot_damaged` unless the database is sound in itself."""
    try:
        with closing(_open(file)) as database:
            faults = [row[0] for row in database.execute("PRAGMA integrity_check(5)")]
            broken = database.execute("PRAGMA foreign_key_check").fetchall()
    except sqlite3.DatabaseError as error:
        raise Unavailable("snapshot_damaged", None, path=str(file), found=str(error)) from error
    if faults != ["ok"] or broken:
        found = "; ".join(faults) if faults != ["ok"] else f"{len(broken)} broken links"
        raise Unavailable("snapshot_damaged", None, path=str(file), found=found)


def _open(file: Path) -> sqlite3.Connection:
    """Open an existing file for reading; a missing one is not made."""
    return sqlite3.connect(f"{file.absolute().as_uri()}?mode=rw", uri=True)


def sync(path: Path) -> None:
    """Make sure that the file, or the folder's list of names, is on the disk."""
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def exclusive(file: Path) -> None:
    """Raise Conflict `database_in_use` when another process has the database open.

    Leaving the write-ahead journal needs the file alone; all of it then stands in one file.
    """
    try:
        with closing(_open(file)) as database:
            database.execute("PRAGMA busy_timeout = 0")
            mode = database.execute("PRAGMA journal_mode = DELETE").fetchone()[0]
    except sqlite3.OperationalError as error:
        raise Conflict("database_in_use", "data", path=str(file)) from error
    if mode != "delete":
        raise Conflict("database_in_use", "data", path=str(file))
