"""Brings a database to the structure that this version of the program knows."""

import logging
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from alembic.util import CommandError
from sqlalchemy import Connection, Engine, NullPool, create_engine, event
from sqlalchemy.engine import URL, make_url

from app import resources
from app.errors import Unavailable
from app.records.session import (
    WRITERS_LOCK,
    create_private,
    plain_refusals,
    sqlite_file,
    with_driver,
)
from app.records.snapshot import snapshot

WAITS_MS = 120_000
"""For another upgrade of the same records: it is one transaction, which takes far longer than what
a person does, on a busy machine more than the few seconds for which that waits."""

logger = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Upgrade:
    """What an upgrade did; equal revisions mean that nothing was needed."""

    before: str | None
    """None: the database was empty."""
    after: str
    backup: Path | None
    """The copy of the old database, when there was one to copy."""


def upgrade(database_url: str | URL, scripts: Path | None = None) -> Upgrade:
    """Make the tables, or change them step by step, all or nothing.

    An existing SQLite file is copied beside itself first.

    Raises Unavailable: `database_newer` when a newer version has changed the database,
    `migration_breaks_links` when rows would point to nothing.
    """
    url = with_driver(make_url(database_url))
    config = _config(scripts or resources.migrations())
    head = _head(config)
    engine = _engine(url)
    try:
        with plain_refusals():
            before = _revision(engine)
            _refuse_newer(config, before)
            if before == head:
                return Upgrade(before, head, None)
            backup = _copy_before(url, before, head)
            _run(engine, config)
            return Upgrade(before, head, backup)
    finally:
        engine.dispose()


def revision(database_url: str | URL) -> str | None:
    """Which structure the database has; None when it is empty."""
    engine = _engine(with_driver(make_url(database_url)))
    try:
        with plain_refusals():
            return _revision(engine)
    finally:
        engine.dispose()


def newest_revision(scripts: Path | None = None) -> str:
    """The structure that this version of the program knows."""
    return _head(_config(scripts or resources.migrations()))


def _config(scripts: Path) -> Config:
    config = Config()
    config.set_main_option("script_location", str(scripts).replace("%", "%%"))
    config.set_main_option("path_separator", "os")
    return config


def _head(config: Config) -> str:
    head = ScriptDirectory.from_config(config).get_current_head()
    if head is None:
        raise Unavailable("installation_incomplete", None, path="migrations/versions")
    return head


def _engine(url: URL) -> Engine:
    """An engine for one connection, without a pool: its settings must not meet other work."""
    file = sqlite_file(url)
    if file is not None:
        create_private(file)
    engine = create_engine(url, poolclass=NullPool, hide_parameters=True)
    if file is not None:
        event.listen(engine, "connect", _set_up)
    event.listen(engine, "begin", _begin_alone)
    return engine


def _set_up(connection: Any, record: object) -> None:
    # Rebuilding a table drops the old one. With foreign keys on that would take the rows that
    # point to it along, and the switch works only outside a transaction.
    connection.isolation_level = None
    connection.execute(f"PRAGMA busy_timeout = {WAITS_MS}")
    connection.execute("PRAGMA synchronous = FULL")
    connection.execute("PRAGMA foreign_keys = OFF")


def _begin_alone(connection: Connection) -> None:
    if connection.dialect.name == "sqlite":
        connection.exec_driver_sql("BEGIN IMMEDIATE")
    else:
        connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({WRITERS_LOCK})")


def _revision(engine: Engine) -> str | None:
    with engine.connect() as connection:
        return MigrationContext.configure(connection).get_current_revision()


def _refuse_newer(config: Config, before: str | None) -> None:
    if before is None:
        return
    try:
        ScriptDirectory.from_config(config).get_revision(before)
    except CommandError as error:
        raise Unavailable("database_newer", None, found=before, known=_head(config)) from error


def _copy_before(url: URL, before: str | None, head: str) -> Path | None:
    file = sqlite_file(url)
    if file is None or before is None:
        return None
    stem = f"{file.name}.{before}-before-{head}"
    taken = {path.name for path in file.parent.glob(f"{stem}*")}
    names = (stem if turn == 0 else f"{stem}.{turn}" for turn in range(len(taken) + 1))
    target = file.with_name(next(name for name in names if name not in taken))
    snapshot(file, target)
    return target


def _run(engine: Engine, config: Config) -> None:
    with engine.begin() as connection:
        config.attributes["connection"] = connection
        command.upgrade(config, "head")
        if connection.dialect.name == "sqlite":
            _refuse_broken_links(connection)


def _refuse_broken_links(connection: Connection) -> None:
    broken = connection.exec_driver_sql("PRAGMA foreign_key_check").fetchall()
    if broken:
        tables = tuple(sorted({str(row[0]) for row in broken}))
        raise Unavailable("migration_breaks_links", None, rows=len(broken), tables=tables)
