"""The database: reading and writing units of work.

SQLite (WAL, synchronous FULL) knows one writer at a time. A writing unit takes a lock of this
process before it takes a connection, because SQLite's own waiting is unfair, and it begins
IMMEDIATE, because a reader that turns writer half-way fails at once. On PostgreSQL one advisory
lock gives the same order of writers, so that what is read in a writing unit stays true until
its commit on both.
"""

import os
import threading
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event, text
from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import DatabaseError, DataError, IntegrityError, ProgrammingError
from sqlalchemy.exc import TimeoutError as PoolTimeout
from sqlalchemy.orm import Session, sessionmaker
from sqlalchemy.orm.exc import StaleDataError

from app.errors import Conflict, Unavailable
from app.records.permanence import keep_permanent
from app.records.prepared import Prepared, Row, keep_connections
from app.records.scope import keep_within_shop

POOL_SIZE = 8
BUSY_TIMEOUT_MS = 5_000
LOCK_TIMEOUT_S = 10
WRITERS_LOCK = 0x6A6967
"""Number of the advisory lock on PostgreSQL; any fixed number serves."""

WAITING = "waits_for_commit"
"""Where a session keeps what is to be done then."""

_INSIDE: ContextVar["Database | None"] = ContextVar("inside", default=None)
"""The database whose writing unit this flow of work is in."""


class ShopSession(Session):
    """A session that stays within its shop and keeps permanent rows as they are."""


def after_commit(session: Session, work: Callable[[], object]) -> None:
    """Have this done as soon as what the session writes is true, and not at all where it never
    comes to be."""
    session.info.setdefault(WAITING, []).append(work)


def _committed(session: Session) -> None:
    for work in session.info.pop(WAITING, ()):
        work()


def _rolled_back(session: Session) -> None:
    session.info.pop(WAITING, None)


event.listen(ShopSession, "after_commit", _committed)
event.listen(ShopSession, "after_rollback", _rolled_back)
event.listen(ShopSession, "do_orm_execute", keep_within_shop)
event.listen(ShopSession, "before_flush", keep_permanent)
keep_connections(ShopSession)


class Database:
    """One database by URL. `read()` and `write()` give a session for one unit of work."""

    def __init__(self, url: str | URL, pool_size: int = POOL_SIZE) -> None:
        self.url = with_driver(make_url(url))
        self.engine = _engine(self.url, pool_size)
        self._write_lock = threading.Lock()
        self._reading = sessionmaker(_reading_engine(self.engine), class_=ShopSession)
        self._writing = sessionmaker(
            self.engine.execution_options(writes=True),
            class_=ShopSession,
            expire_on_commit=False,
            info={"writable": True},
        )

    @property
    def file(self) -> Path | None:
        """The database file; None when the database is not SQLite."""
        return sqlite_file(self.url)

    @contextmanager
    def read(self) -> Iterator[Session]:
        """A session that sees one state of the database and refuses to write."""
        with plain_refusals(), self._reading() as session:
            yield session

    @contextmanager
    def write(self) -> Iterator[Session]:
        """A session that commits at the end, or rolls back on any exception.

        No password hashing, PDF or image work belongs inside: all other writers wait.
        """
        with self._alone(), plain_refusals(), self._writing.begin() as session:
            yield session

    def asked(self, select: Prepared, given: Mapping[str, object]) -> Sequence[Row]:
        """What one select across all shops finds, without a session for it."""
        with plain_refusals():
            return select.asked_alone(self.engine, given)

    def ping(self) -> None:
        """Raise `Unavailable` when the database does not answer."""
        with plain_refusals(), self.engine.connect() as connection:
            connection.execute(text("SELECT 1"))

    def close(self) -> None:
        self.engine.dispose()

    @contextmanager
    def _alone(self) -> Iterator[None]:
        if _INSIDE.get() is self:
            raise RuntimeError("a writing unit was opened inside a writing unit")
        if not self._write_lock.acquire(timeout=LOCK_TIMEOUT_S):
            raise Unavailable("database_busy")
        _INSIDE.set(self)
        try:
            yield
        finally:
            # Not reset by a token: a web framework may leave the unit in another thread, with
            # another context, than it entered it in.
            _INSIDE.set(None)
            self._write_lock.release()


def sqlite_file(url: URL) -> Path | None:
    """The file that an SQLite URL names; None for another database.

    Raises:
        ValueError: the URL names a database in memory, which each connection would see alone.
    """
    if url.get_backend_name() != "sqlite":
        return None
    if not url.database or url.database == ":memory:":
        raise ValueError("the records need a database file, not one in memory")
    return Path(url.database)


def with_driver(url: URL) -> URL:
    return url.set(drivername="postgresql+psycopg") if url.drivername == "postgresql" else url


def _engine(url: URL, pool_size: int) -> Engine:
    file = sqlite_file(url)
    if file is not None:
        create_private(file)
    # What a statement was given may be a name or a digest of a password: an error that quotes it
    # would write it into the log.
    engine = create_engine(
        url,
        pool_size=pool_size,
        max_overflow=0,
        pool_timeout=LOCK_TIMEOUT_S,
        hide_parameters=True,
    )
    if file is not None:
        event.listen(engine, "connect", set_up_sqlite)
        event.listen(engine, "begin", _begin_sqlite)
    else:
        event.listen(engine, "begin", _begin_postgresql)
    return engine


def create_private(file: Path) -> None:
    """Make an empty database file that only its owner can read; leave an existing one alone."""
    os.close(os.open(file, os.O_CREAT | os.O_RDWR, 0o600))


def _reading_engine(engine: Engine) -> Engine:
    if engine.dialect.name == "sqlite":
        return engine
    return engine.execution_options(isolation_level="REPEATABLE READ", postgresql_readonly=True)


def set_up_sqlite(connection: Any, record: object) -> None:
    """Listener of `connect`: begin by hand, wait for locks, lose nothing that was committed."""
    connection.isolation_level = None
    connection.execute(f"PRAGMA busy_timeout = {BUSY_TIMEOUT_MS}")
    connection.execute("PRAGMA journal_mode = WAL")
    connection.execute("PRAGMA synchronous = FULL")
    connection.execute("PRAGMA foreign_keys = ON")
    # What was erased is overwritten in the file; not every build does that unasked.
    connection.execute("PRAGMA secure_delete = ON")


def _begin_sqlite(connection: Connection) -> None:
    writes = connection.get_execution_options().get("writes")
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def _begin_postgresql(connection: Connection) -> None:
    if connection.get_execution_options().get("writes"):
        connection.exec_driver_sql(f"SET LOCAL lock_timeout = '{LOCK_TIMEOUT_S}s'")
        connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({WRITERS_LOCK})")


@contextmanager
def plain_refusals() -> Iterator[None]:
    """Turn what the database driver raises into the program's own errors."""
    try:
        yield
    except StaleDataError as error:
        raise Conflict("changed_meanwhile") from error
    except PoolTimeout as error:
        raise Unavailable("database_busy") from error
    except DatabaseError as error:
        refusal = _refusal(error)
        if refusal is None:
            raise
        raise refusal from error


def _refusal(error: DatabaseError) -> Unavailable | None:
    """What is wrong with the database itself; None when the program asked something wrong."""
    words = str(error.orig)
    said = words.lower()
    if isinstance(error, IntegrityError | DataError):
        return None
    if "no such table" in said or "no such column" in said or "undefined" in _name(error):
        return Unavailable("database_not_migrated")
    if isinstance(error, ProgrammingError):
        return None
    if "locked" in said or "lock timeout" in said:
        return Unavailable("database_busy")
    if "disk is full" in said or "no space" in said:
        return Unavailable("disk_full")
    return Unavailable("database_unusable", None, path="the database", reason=words)


def _name(error: DatabaseError) -> str:
    """How the driver names the kind of error, like `undefinedtable` on PostgreSQL."""
    return type(error.orig).__name__.lower()
