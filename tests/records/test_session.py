"""Reading and writing units: nothing is half done, nobody is told locked, nothing is lost."""

import os
import signal
import sqlite3
import stat
import subprocess
import sys
import threading
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from pathlib import Path

import pytest
from sqlalchemy import text
from sqlalchemy.exc import SQLAlchemyError

from app.errors import Conflict, Unavailable
from app.records.numbers import next_number
from app.records.scope import scoped
from app.records.session import Database
from app.records.tables import Customer
from tests.databases import NOW


def customers(database: Database, shop_id: int) -> list[str]:
    with database.read() as session:
        return [row.name for row in session.scalars(scoped(session, shop_id, Customer))]


def add(database: Database, shop_id: int, name: str) -> None:
    with database.write() as session:
        session.add(Customer(shop_id=shop_id, name=name, created_at=NOW))


def test_a_unit_that_fails_leaves_nothing_behind(database: Database, shop_id: int) -> None:
    def half() -> None:
        with database.write() as session:
            session.add(Customer(shop_id=shop_id, name="half", created_at=NOW))
            session.flush()
            raise LookupError

    with pytest.raises(LookupError):
        half()
    add(database, shop_id, "whole")
    assert customers(database, shop_id) == ["whole"]


def test_a_reader_sees_one_state_while_others_write(database: Database, shop_id: int) -> None:
    add(database, shop_id, "first")
    with database.read() as session:
        query = scoped(session, shop_id, Customer).with_only_columns(Customer.name)
        assert session.scalars(query).all() == ["first"]
        add(database, shop_id, "second")
        assert session.scalars(query).all() == ["first"]
    assert customers(database, shop_id) == ["first", "second"]


def read_then_write(database: Database, shop_id: int) -> str:
    with database.write() as session:
        return next_number(session, shop_id, "job", 2026)


def test_reading_then_writing_never_fails_with_many_at_once(
    database: Database, shop_id: int
) -> None:
    with ThreadPoolExecutor(8) as threads:
        numbers = list(threads.map(lambda _: read_then_write(database, shop_id), range(120)))
    assert sorted(numbers) == [f"J-2026-{n:04d}" for n in range(1, 121)]


def test_reading_then_writing_never_fails_from_two_databases_on_one_file(
    database: Database, shop_id: int
) -> None:
    """Two processes do not share the lock of the process: the database's own order must do."""
    other = Database(database.url)
    both = [database, other] * 40
    with ThreadPoolExecutor(4) as threads:
        numbers = list(threads.map(lambda one: read_then_write(one, shop_id), both))
    other.close()
    assert sorted(numbers) == [f"J-2026-{n:04d}" for n in range(1, 81)]


def test_the_same_work_fails_when_it_begins_as_a_reader(database: Database, shop_id: int) -> None:
    """The trap that IMMEDIATE avoids is real: a reader that turns writer is refused at once."""
    if database.file is None:
        return
    add(database, shop_id, "first")
    with (
        closing(sqlite3.connect(database.file, isolation_level=None)) as late,
        closing(sqlite3.connect(database.file, isolation_level=None)) as quick,
    ):
        late.execute("BEGIN")
        late.execute("SELECT count(*) FROM customer").fetchone()
        quick.execute("UPDATE customer SET note = 'quick'")
        with pytest.raises(sqlite3.OperationalError, match="locked"):
            late.execute("UPDATE customer SET note = 'late'")


def test_each_kind_and_year_counts_by_itself(database: Database, shop_id: int) -> None:
    with database.write() as session:
        given = [
            next_number(session, shop_id, kind, year)
            for kind, year in (
                ("job", 2026), ("job", 2026), ("certificate", 2026), ("job", 2027), ("job", 2026)
            )
        ]  # fmt: skip
    assert given == ["J-2026-0001", "J-2026-0002", "C-2026-0001", "J-2027-0001", "J-2026-0003"]


def test_a_number_of_a_failed_unit_is_given_again(database: Database, shop_id: int) -> None:
    def fail() -> None:
        with database.write() as session:
            next_number(session, shop_id, "job", 2026)
            raise LookupError

    with pytest.raises(LookupError):
        fail()
    assert read_then_write(database, shop_id) == "J-2026-0001"


def test_two_who_changed_the_same_row_are_told(database: Database, shop_id: int) -> None:
    add(database, shop_id, "Kim")
    with database.read() as session:
        old = session.scalars(scoped(session, shop_id, Customer)).one()
    with database.write() as session:
        session.scalars(scoped(session, shop_id, Customer)).one().name = "Kim B"
    old.name = "Kim C"
    with pytest.raises(Conflict, match="changed_meanwhile"), database.write() as session:
        session.add(old)
    assert customers(database, shop_id) == ["Kim B"]


def test_a_writing_unit_inside_another_is_a_mistake_and_not_a_standstill(
    database: Database,
) -> None:
    with database.write(), pytest.raises(RuntimeError, match="inside"):
        database.write().__enter__()


def test_a_database_held_by_another_program_is_busy_and_not_a_traceback(
    database: Database, shop_id: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("app.records.session.BUSY_TIMEOUT_MS", 50)
    if database.file is None:
        return
    waiting = Database(database.url)
    with closing(sqlite3.connect(database.file, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(Unavailable, match="database_busy"):
            add(waiting, shop_id, "late")
    add(waiting, shop_id, "in time")
    assert customers(waiting, shop_id) == ["in time"]
    waiting.close()


def test_a_writer_that_waits_too_long_in_this_process_is_told(
    database: Database, shop_id: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("app.records.session.LOCK_TIMEOUT_S", 0.05)
    told: list[str] = []

    def wait() -> None:
        try:
            add(database, shop_id, "late")
        except Unavailable as error:
            told.append(error.code)

    with database.write():
        second = threading.Thread(target=wait)
        second.start()
        second.join()
    assert told == ["database_busy"]


SETTINGS = {"journal_mode": "wal", "synchronous": 2, "foreign_keys": 1, "busy_timeout": 5000}


@pytest.mark.parametrize("name", SETTINGS)
def test_sqlite_is_set_to_lose_nothing(database: Database, name: str) -> None:
    if database.file is None:
        return
    with database.engine.connect() as connection:
        assert connection.exec_driver_sql(f"PRAGMA {name}").scalar() == SETTINGS[name]


def test_the_database_file_is_its_owners_alone(tmp_path: Path) -> None:
    made = Database(f"sqlite:///{tmp_path / 'new.sqlite3'}")
    with made.engine.begin() as connection:
        connection.execute(text("CREATE TABLE a (b)"))
    modes = {path.name: stat.S_IMODE(path.stat().st_mode) for path in tmp_path.glob("new*")}
    made.close()
    assert len(modes) >= 2
    assert set(modes.values()) == {0o600}


@pytest.mark.parametrize("url", ["sqlite://", "sqlite:///:memory:"])
def test_a_database_in_memory_is_refused(url: str) -> None:
    with pytest.raises(ValueError, match="file"):
        Database(url)


def test_an_empty_database_says_that_it_was_not_migrated(tmp_path: Path) -> None:
    empty = Database(f"sqlite:///{tmp_path / 'empty.sqlite3'}")
    with pytest.raises(Unavailable, match="database_not_migrated"):
        customers(empty, 1)
    empty.close()


def test_a_file_that_is_no_database_is_told_plainly(tmp_path: Path) -> None:
    file = tmp_path / "letter.sqlite3"
    file.write_text("Dear sirs, " * 200)
    broken = Database(f"sqlite:///{file}")
    with pytest.raises(Unavailable, match="database_unusable"):
        broken.ping()
    broken.close()


def test_a_full_disk_is_told_plainly(database: Database, shop_id: int) -> None:
    def write_much() -> None:
        with database.write() as session:
            connection = session.connection()
            connection.exec_driver_sql("PRAGMA max_page_count = 1")
            session.add_all(
                Customer(shop_id=shop_id, name="x" * 300, note="y" * 8000, created_at=NOW)
                for _ in range(40)
            )

    if database.file is None:
        return
    with pytest.raises(Unavailable, match="disk_full"):
        write_much()
    assert customers(database, shop_id) == []


WRITER = """
import sys
from datetime import UTC, datetime
from app.records.session import Database
from app.records.tables import Customer
database = Database(sys.argv[1])
for number in range(10_000):
    with database.write() as session:
        session.add(Customer(shop_id=int(sys.argv[2]), name=str(number),
                             created_at=datetime.now(UTC)))
    print(number, flush=True)
"""


@pytest.mark.parametrize("acknowledged", [1, 7, 40])
def test_what_was_acknowledged_survives_a_killed_process(
    database: Database, shop_id: int, acknowledged: int
) -> None:
    url = database.url.render_as_string(hide_password=False)
    writer = subprocess.Popen(
        [sys.executable, "-c", WRITER, url, str(shop_id)], stdout=subprocess.PIPE, text=True
    )
    assert writer.stdout is not None
    heard = [int(writer.stdout.readline()) for _ in range(acknowledged)]
    os.kill(writer.pid, signal.SIGKILL)
    heard += [int(line) for line in writer.stdout.read().split()]
    writer.stdout.close()
    assert writer.wait() == -signal.SIGKILL
    kept = [int(name) for name in customers(database, shop_id)]
    assert kept[: len(heard)] == heard
    assert len(kept) <= len(heard) + 1


def test_an_error_quotes_no_value_that_a_statement_was_given(
    database: Database, shop_id: int
) -> None:
    with pytest.raises(SQLAlchemyError) as refused, database.write() as session:
        session.add(Customer(shop_id=shop_id, name="Kim Secret", created_at=NOW, erased_at="never"))
    assert "customer" in str(refused.value)
    assert "Kim Secret" not in str(refused.value)
