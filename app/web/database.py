"""One request, one session: opened before the route, committed before the answer leaves."""

import functools
import inspect
from collections.abc import Callable, Iterator
from typing import Annotated, Any, TypeVar

import anyio.to_thread
from fastapi import Depends, Request
from sqlalchemy.orm import Session

from app.records.session import Database

Found = TypeVar("Found")


def database(request: Request) -> Database:
    """The database that this app was made with."""
    found: Database = request.app.state.database
    return found


async def records(request: Request) -> Database:
    """The same as a dependency: a coroutine, so that it costs no thread."""
    return database(request)


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
Records = Annotated[Database, Depends(records)]


async def in_own_thread(work: Callable[[], Found]) -> Found:
    """Work that takes its turn to write, in a thread that is not one of the framework's.

    When its turn has come, all threads of the framework may be busy with others that wait for the
    very lock it holds. Were it to wait for one of them, all of them would fail.
    """
    return await anyio.to_thread.run_sync(work, limiter=anyio.CapacityLimiter(1))


def in_writers_thread(endpoint: Callable[..., Any]) -> Callable[..., Any]:
    """The endpoint as it is registered: one that takes a writing session opens and commits it in
    the thread that it runs in, which is its own."""
    name, taken = in_its_hands(endpoint, Write)
    if name is None:
        return endpoint

    def written(made_in: Database, args: tuple[Any, ...], kwargs: dict[str, Any]) -> Any:
        with made_in.write() as session:
            return endpoint(*args, **{name: session}, **kwargs)

    @functools.wraps(endpoint)
    async def in_turn(*args: Any, **kwargs: Any) -> Any:
        return await in_own_thread(functools.partial(written, kwargs.pop(name), args, kwargs))

    in_turn.__signature__ = taken  # type: ignore[attr-defined]
    return in_turn


def in_one_thread(endpoint: Callable[..., Any]) -> Callable[..., Any]:
    """The endpoint as it is registered: one that takes a reading session opens and closes it in
    the thread that it runs in, where the framework would go to a thread for each of the three."""
    name, taken = in_its_hands(endpoint, Read)
    if name is None or inspect.iscoroutinefunction(endpoint):
        return endpoint

    @functools.wraps(endpoint)
    def read(*args: Any, **kwargs: Any) -> Any:
        with kwargs.pop(name).read() as session:
            return endpoint(*args, **{name: session}, **kwargs)

    read.__signature__ = taken  # type: ignore[attr-defined]
    return read


def in_its_hands(
    endpoint: Callable[..., Any], kind: object
) -> tuple[str | None, inspect.Signature]:
    """The name of the session of this kind that an endpoint takes, if any, and the signature of
    one that is given the database in its place and opens the session itself."""
    parameters = inspect.signature(endpoint).parameters.values()
    name = next((one.name for one in parameters if one.annotation == kind), None)
    taken = [one.replace(annotation=Records) if one.name == name else one for one in parameters]
    return name, inspect.Signature(taken)
