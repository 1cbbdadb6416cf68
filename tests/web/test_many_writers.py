"""Many who write at once: each gets an answer, none waits for a thread that waits for it."""

import asyncio
import threading
from collections.abc import Callable
from pathlib import Path

import anyio.to_thread
import httpx
import pytest
from fastapi import FastAPI

from app.records.numbers import next_number
from app.records.session import Database
from app.web.database import Records, Write, in_writers_thread
from tests.databases import Template, new_shop

THREADS = 4
AT_ONCE = 40


@pytest.fixture(scope="module")
def template() -> Template:
    return Template()


def number_giver(database: Database, shop_id: int) -> FastAPI:
    """An app with a route that writes in the request's session and one with a unit of its own."""
    app = FastAPI()
    app.state.database = database

    def in_session(session: Write) -> str:
        return next_number(session, shop_id, "job", 2026)

    def in_own_unit(database: Records) -> str:
        with database.write() as session:
            return next_number(session, shop_id, "job", 2026)

    app.add_api_route("/session", in_writers_thread(in_session), methods=["POST"])
    app.add_api_route("/unit", in_writers_thread(in_own_unit), methods=["POST"])
    return app


async def ask(app: FastAPI, paths: list[str]) -> list[httpx.Response]:
    anyio.to_thread.current_default_thread_limiter().total_tokens = THREADS
    transport = httpx.ASGITransport(app)
    async with httpx.AsyncClient(transport=transport, base_url="http://shop.test") as client:
        return list(await asyncio.gather(*(client.post(path) for path in paths)))


@pytest.mark.parametrize(
    "pick",
    [lambda n: "/session", lambda n: "/unit", lambda n: "/session" if n % 5 == 0 else "/unit"],
    ids=["sessions of requests", "units of their own", "both"],
)
def test_far_more_writers_than_threads_all_get_their_number(
    template: Template,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    pick: Callable[[int], str],
) -> None:
    monkeypatch.setattr("app.records.session.LOCK_TIMEOUT_S", 2)
    with template.copy(tmp_path) as url:
        database = Database(url)
        app = number_giver(database, new_shop(database))
        answers = asyncio.run(ask(app, [pick(n) for n in range(AT_ONCE)]))
        database.close()
    assert {answer.status_code for answer in answers} == {200}
    assert sorted(answer.json() for answer in answers) == [
        f"J-2026-{n:04d}" for n in range(1, AT_ONCE + 1)
    ]


def test_a_unit_may_be_left_in_another_thread_than_it_was_entered_in(
    template: Template, tmp_path: Path
) -> None:
    with template.copy(tmp_path) as url:
        database = Database(url)
        unit = database.write()
        entering = threading.Thread(target=unit.__enter__)
        entering.start()
        entering.join()
        unit.__exit__(None, None, None)
        assert new_shop(database) == 1
        database.close()
