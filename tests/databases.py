"""Databases for tests: each test gets its own, already migrated, copied from one template.

The engine goes from file to file: what it has compiled for one test it need not for the next.
SQLite in the test's own folder. By hand also PostgreSQL: JIGBOOK_TEST_SERVER names a database on
a server from which further ones may be made.
"""

import itertools
import os
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from sqlalchemy import create_engine, event, text
from sqlalchemy.engine import URL, make_url

from app.records.migrating import upgrade
from app.records.session import Database, create_private
from app.records.tables import Shop
from app.services.passwords import Passwords
from app.services.permissions import Actor, Role

SERVER = os.environ.get("JIGBOOK_TEST_SERVER")
CHEAP = Passwords(time_cost=1, memory_kib=8, lanes=1)
"""Hashing that costs nothing; the costs in use have a test of their own."""
NOW = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)

_numbers = itertools.count(1)
_free: list[Database] = []
"""Databases that no test uses, with all that their engines have compiled."""


def migrate(file: Path) -> None:
    """A new database as `upgrade` makes it and the first connection leaves it; made once."""
    create_private(file)
    file.write_bytes(_migrated())


@cache
def _migrated() -> bytes:
    with TemporaryDirectory() as folder:
        file = Path(folder) / "new.sqlite3"
        url = URL.create("sqlite", database=str(file))
        upgrade(url)
        opened = Database(url)
        opened.engine.connect().close()
        opened.close()
        return file.read_bytes()


@contextmanager
def records_at(url: str | URL) -> Iterator[Database]:
    """These records for one test; nothing of the records before them is left."""
    made = open_at(url)
    try:
        yield made
    finally:
        give_back(made)


def open_at(url: str | URL) -> Database:
    """The same, to be given back by whoever opens it."""
    if not _free or make_url(url).get_backend_name() != "sqlite":
        return _new_at(url)
    made = _free.pop()
    made.url = make_url(url)
    assert made.file is not None
    create_private(made.file)
    return made


def give_back(database: Database) -> None:
    """Close all connections. Whoever still has one in hand keeps the engine to themselves."""
    in_hand = database.engine.pool.checkedout()  # type: ignore[attr-defined]
    database.close()
    if database.file is not None and not in_hand:
        _free.append(database)


def _new_at(url: str | URL) -> Database:
    made = Database(url)
    if made.file is not None:

        def to_these(dialect: Any, record: Any, args: list[Any], options: Any) -> None:
            args[0] = str(made.file)

        event.listen(made.engine, "do_connect", to_these)
        event.listen(made.engine, "connect", _without_waiting_for_the_disk)
    return made


def _without_waiting_for_the_disk(connection: Any, record: object) -> None:
    """What survives a power cut is not what these tests are about; the records' own are."""
    connection.execute("PRAGMA synchronous = OFF")


@contextmanager
def statements_of(database: Database) -> Iterator[list[str]]:
    """Every statement that reaches the database meanwhile, whoever hands it to the driver."""
    engine, said = database.engine, list[str]()
    if engine.dialect.name != "sqlite":
        listening: tuple[str, Any] = "before_cursor_execute", lambda *args: said.append(args[2])
    else:
        listening = "checkout", lambda driver, *_rest: driver.set_trace_callback(said.append)
    event.listen(engine, *listening)
    try:
        yield said
    finally:
        event.remove(engine, *listening)
        engine.dispose()


class Template:
    """An empty migrated database, and copies of it."""

    def __init__(self) -> None:
        self.name = f"jigbook_template_{os.getpid()}_{next(_numbers)}"
        if SERVER:
            _on_server(f"CREATE DATABASE {self.name}")
            upgrade(make_url(SERVER).set(database=self.name))

    @contextmanager
    def copy(self, folder: Path) -> Iterator[URL]:
        """The URL of a new copy."""
        if not SERVER:
            file = folder / f"records-{next(_numbers)}.sqlite3"
            migrate(file)
            yield self._file_url(file)
            return
        name = f"jigbook_test_{os.getpid()}_{next(_numbers)}"
        _on_server(f"CREATE DATABASE {name} TEMPLATE {self.name}")
        try:
            yield make_url(SERVER).set(database=name)
        finally:
            _on_server(f"DROP DATABASE {name} WITH (FORCE)")

    def close(self) -> None:
        if SERVER:
            _on_server(f"DROP DATABASE {self.name} WITH (FORCE)")

    @staticmethod
    def _file_url(file: Path) -> URL:
        return URL.create("sqlite", database=str(file))


def _on_server(*statements: str) -> None:
    engine = create_engine(make_url(SERVER or ""), isolation_level="AUTOCOMMIT")
    with engine.connect() as connection:
        for statement in statements:
            connection.execute(text(statement))
    engine.dispose()


def new_shop(database: Database, name: str = "Invented Workshop") -> int:
    """Add a shop and give its id."""
    with database.write() as session:
        shop = Shop(name=name, created_at=NOW)
        session.add(shop)
        session.flush()
        return shop.id


def actor_with(shop_id: int, *roles: Role, person_id: int | None = None) -> Actor:
    """Somebody with these roles, who need not be on record."""
    return Actor(shop_id, "Ada Test", frozenset(roles), person_id=person_id)
