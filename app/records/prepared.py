"""Statements that nearly every request asks, worked out once and handed to SQLite's driver.

What SQLAlchemy does about each execution costs many times what SQLite takes for a row that it
finds by its key. Other databases are asked through SQLAlchemy all the same.
"""

from collections.abc import Callable, Mapping, Sequence
from functools import cached_property
from typing import Any, NamedTuple

from sqlalchemy import Connection, Engine, Insert, Select, Update, event
from sqlalchemy.dialects import sqlite
from sqlalchemy.engine.interfaces import DBAPICursor
from sqlalchemy.exc import DBAPIError
from sqlalchemy.orm import Session, SessionTransaction

from app.records.scope import require_across, require_within

SQLITE = sqlite.dialect()
CONNECTION = "connection"
"""Where a session keeps the one of its transaction."""
Process = Callable[[Any], Any]
Row = Sequence[Any]


class Plain(NamedTuple):
    """A statement as the driver takes it.

    marks: name of each value in order, and what turns it into one that the driver knows; own:
    values that the statement brings itself; columns: places in a row whose values are to be
    turned back.
    """

    text: str
    marks: tuple[tuple[str, Process | None], ...]
    own: Mapping[str, object]
    columns: tuple[tuple[int, Process], ...]


class Prepared:
    """A select, insert or update that is made once for all.

    A select is one `for_given_shop` or across all shops. An insert or update names all its columns.
    """

    def __init__(self, statement: Select[Any] | Insert | Update) -> None:
        self.statement = statement

    def asked(self, session: Session, given: Mapping[str, object]) -> Sequence[Row]:
        """All rows of a select. Raises UnscopedQuery as the session would."""
        require_within(session, self.statement, given)
        session.flush()
        return self._rows(connection_of(session), given)

    def asked_alone(self, engine: Engine, given: Mapping[str, object]) -> Sequence[Row]:
        """All rows of a select across all shops, without a session or a transaction for it: one
        statement sees one state of the records by itself. Raises UnscopedQuery for another."""
        require_across(self.statement)
        with engine.connect() as connection:
            return self._rows(connection, given)

    def _rows(self, connection: Connection, given: Mapping[str, object]) -> Sequence[Row]:
        if connection.dialect.name != SQLITE.name:
            return [tuple(row) for row in connection.execute(self.statement, given)]
        found, columns = self._run(connection, given).fetchall(), self._plain.columns
        return [_turned(row, columns) for row in found] if columns else found

    def added(self, session: Session, given: Mapping[str, object]) -> int:
        """The id of the row that an insert has added."""
        connection = connection_of(session)
        if connection.dialect.name != SQLITE.name:
            key: Row = connection.execute(self.statement, given).inserted_primary_key or ()
            return int(key[0])
        return int(self._run(connection, given).lastrowid)

    def changed(self, session: Session, given: Mapping[str, object]) -> int:
        """How many rows an update has changed."""
        connection = connection_of(session)
        if connection.dialect.name != SQLITE.name:
            return connection.execute(self.statement, given).rowcount
        return self._run(connection, given).rowcount

    def _run(self, connection: Connection, given: Mapping[str, object]) -> DBAPICursor:
        """Raises what SQLAlchemy would: its own errors in place of the driver's."""
        text, marks, own, _columns = self._plain
        known = {**own, **given}
        values = [known[name] if turn is None else turn(known[name]) for name, turn in marks]
        cursor = connection.connection.cursor()
        try:
            cursor.execute(text, values)
        except connection.dialect.loaded_dbapi.Error as error:
            driver = connection.dialect.loaded_dbapi.Error
            raise DBAPIError.instance(text, None, error, driver, True) from error
        return cursor

    @cached_property
    def _plain(self) -> Plain:
        compiled: Any = self.statement.compile(dialect=SQLITE)
        columns = [one.type for one in getattr(self.statement, "selected_columns", ())]
        back = [one.dialect_impl(SQLITE).result_processor(SQLITE, None) for one in columns]
        return Plain(
            compiled.string,
            tuple([(name, _to_driver(compiled.binds[name])) for name in compiled.positiontup]),
            {name: value for name, value in compiled.params.items() if value is not None},
            tuple([(place, turn) for place, turn in enumerate(back) if turn is not None]),
        )


def connection_of(session: Session) -> Connection:
    """The connection of the session's transaction, which begins here at the latest. Asked for each
    statement, the session itself would go a long way to the same one."""
    found: Connection | None = session.info.get(CONNECTION)
    return session.connection() if found is None else found


def _begun(session: Session, transaction: SessionTransaction, connection: Connection) -> None:
    session.info[CONNECTION] = connection


def _ended(session: Session, transaction: SessionTransaction) -> None:
    session.info.pop(CONNECTION, None)


def keep_connections(kind: type[Session]) -> None:
    """Sessions of this kind have their connection at hand from the beginning of a transaction to
    its end."""
    event.listen(kind, "after_begin", _begun)
    event.listen(kind, "after_transaction_end", _ended)


def _to_driver(bind: Any) -> Process | None:
    turn: Process | None = bind.type.dialect_impl(SQLITE).bind_processor(SQLITE)
    return turn


def _turned(row: Row, columns: Sequence[tuple[int, Process]]) -> Row:
    turned = list(row)
    for place, turn in columns:
        turned[place] = turn(turned[place])
    return turned
