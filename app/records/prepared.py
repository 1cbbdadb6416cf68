"""Statements that nearly every request asks, worked out once and handed to SQLite's driver.

What SQLAlchemy does about each execution costs many times what SQLite takes for a row that it
finds by its key. Other databases are asked through SQLAlchemy all the same.
"""

from collections.abc import Callable, Mapping, Sequence
from functools import cached_property
from typing import Any, NamedTuple

from sqlalchemy import Connection, Insert, Select, Update
from sqlalchemy.dialects import sqlite
from sqlalchemy.engine.interfaces import DBAPICursor
from sqlalchemy.exc import DBAPIError
from sqlalchemy.orm import Session

from app.records.scope import require_within

SQLITE = sqlite.dialect()
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
        return self.rows(session.connection(), given)

    def rows(self, connection: Connection, given: Mapping[str, object]) -> Sequence[Row]:
        """The same for whoever knows that they stay within their shop."""
        if connection.dialect.name != SQLITE.name:
            return [tuple(row) for row in connection.execute(self.statement, given)]
        found, columns = self._run(connection, given).fetchall(), self._plain.columns
        return [_turned(row, columns) for row in found] if columns else found

    def added(self, connection: Connection, given: Mapping[str, object]) -> int:
        """The id of the row that an insert has added."""
        if connection.dialect.name != SQLITE.name:
            key: Row = connection.execute(self.statement, given).inserted_primary_key or ()
            return int(key[0])
        return int(self._run(connection, given).lastrowid)

    def changed(self, connection: Connection, given: Mapping[str, object]) -> int:
        """How many rows an update has changed."""
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


def _to_driver(bind: Any) -> Process | None:
    turn: Process | None = bind.type.dialect_impl(SQLITE).bind_processor(SQLITE)
    return turn


def _turned(row: Row, columns: Sequence[tuple[int, Process]]) -> Row:
    turned = list(row)
    for place, turn in columns:
        turned[place] = turn(turned[place])
    return turned
