"""Copies of a database in use: whole, checked, and all at once there or not at all."""

import sqlite3
import threading
from contextlib import closing
from pathlib import Path

import pytest

from app.errors import Conflict, Unavailable
from app.records.snapshot import check, exclusive, snapshot


@pytest.fixture
def source(tmp_path: Path) -> Path:
    file = tmp_path / "source.sqlite3"
    with closing(sqlite3.connect(file)) as database:
        database.execute("PRAGMA journal_mode = WAL")
        database.execute("CREATE TABLE pair (a INTEGER, b INTEGER)")
        database.executemany("INSERT INTO pair VALUES (?, ?)", [(n, n) for n in range(2000)])
        database.commit()
    return file


def test_a_copy_taken_between_two_writes_holds_neither_half(source: Path, tmp_path: Path) -> None:
    stop = threading.Event()

    def write() -> None:
        with closing(sqlite3.connect(source, isolation_level=None)) as database:
            while not stop.is_set():
                database.execute("BEGIN IMMEDIATE")
                database.execute("UPDATE pair SET a = a + 1")
                database.execute("UPDATE pair SET b = b + 1")
                database.execute("COMMIT")

    writer = threading.Thread(target=write)
    writer.start()
    try:
        for number in range(5):
            snapshot(source, tmp_path / f"copy-{number}")
    finally:
        stop.set()
        writer.join()
    for number in range(5):
        with closing(sqlite3.connect(tmp_path / f"copy-{number}")) as copy:
            assert copy.execute("SELECT count(*), sum(a <> b) FROM pair").fetchone() == (2000, 0)
    assert sorted(path.name for path in tmp_path.iterdir() if "copy" in path.name) == [
        f"copy-{number}" for number in range(5)
    ]


def test_a_missing_source_is_refused_and_leaves_nothing(tmp_path: Path) -> None:
    with pytest.raises(Unavailable, match="snapshot_damaged"):
        snapshot(tmp_path / "missing", tmp_path / "copy")
    assert list(tmp_path.iterdir()) == []


def test_a_damaged_database_is_told_and_not_copied(source: Path, tmp_path: Path) -> None:
    check(source)
    content = bytearray(source.read_bytes())
    content[4096 * 3 : 4096 * 3 + 2000] = b"\xff" * 2000
    source.write_bytes(content)
    with pytest.raises(Unavailable, match="snapshot_damaged"):
        check(source)
    with pytest.raises(Unavailable, match="snapshot_damaged"):
        snapshot(source, tmp_path / "copy")
    assert [path.name for path in tmp_path.iterdir()] == [source.name]


def test_rows_that_point_to_nothing_are_told(source: Path) -> None:
    with closing(sqlite3.connect(source)) as database:
        database.execute("CREATE TABLE a (id INTEGER PRIMARY KEY)")
        database.execute("CREATE TABLE b (a_id INTEGER REFERENCES a (id))")
        database.execute("INSERT INTO b VALUES (7)")
        database.commit()
    with pytest.raises(Unavailable, match="1 broken links"):
        check(source)


def test_a_database_that_somebody_has_open_is_not_taken(source: Path) -> None:
    with closing(sqlite3.connect(source)) as other:
        other.execute("SELECT 1 FROM pair").fetchone()
        with pytest.raises(Conflict, match="database_in_use"):
            exclusive(source)
    exclusive(source)
