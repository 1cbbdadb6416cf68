"""One request, one session: opened before the route, committed before the answer leaves."""

from collections.abc import Iterator
from typing import Annotated

from fastapi import Depends, Request
from sqlalchemy.orm import Session

from app.records.session import Database


def database(request: Request) -> Database:
    """The database that this app was made with."""
    found: Database = request.app.state.database
    return found


def reading(request: Request) -> Iterator[Session]:
    """A session that only reads."""
    with database(request).read() as session:
        yield session


def writing(request: Request) -> Iterator[Session]:
    """A session that commits when the route has returned and rolls back when it raised."""
    with database(request).write() as session:
        yield session


# With the framework's default scope the session would close after the answer has left: a commit
# that fails would have been told as done.
Read = Annotated[Session, Depends(reading, scope="function")]
Write = Annotated[Session, Depends(writing, scope="function")]
Records = Annotated[Database, Depends(database)]
