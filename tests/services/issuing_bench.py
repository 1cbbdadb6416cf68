"""A queue of certificates that goes on only when a test says so."""

from collections.abc import Callable
from typing import Any

import pytest

from app.errors import Unavailable
from app.records.scope import scoped
from app.records.tables import Event
from app.services import issuing_progress
from app.services.issuing_progress import Progress
from app.services.issuing_queue import IssuingQueue
from app.services.order import Made, Order
from app.services.press import Press
from tests.databases import CHEAP
from tests.services.certifying import PASSWORD, Bench

FIRST, SECOND = "C-2026-0001", "C-2026-0002"
Make = Callable[[Press, Order, Callable[[], None] | None], Made]


def queue_of(bench: Bench) -> IssuingQueue:
    """A program of its own on the records of the bench."""
    return IssuingQueue(bench.workshop.database, bench.press, lambda: bench.workshop.now)


def sign_off(queue: IssuingQueue, bench: Bench, kind: str = "completion", **words: Any) -> str:
    """Signed for, and left in the queue without a thread: the test itself finishes it."""
    words = {"password": PASSWORD, "passwords": CHEAP, **words}
    password = words.pop("password")
    signed = queue.sign_off(
        bench.workshop.people["inspector"],
        bench.number,
        kind,  # type: ignore[arg-type]
        password,
        bench.workshop.now,
        **words,
    )
    return signed.number


def progress(bench: Bench, number: str = FIRST) -> Progress:
    return bench.workshop.see(issuing_progress.progress, "desk", number)


def failing(code: str) -> Make:
    def make(press: Press, order: Order, beat: Callable[[], None] | None = None) -> Made:
        raise Unavailable(code)

    return make


def events(bench: Bench, what: str) -> int:
    with bench.workshop.database.read() as session:
        rows = scoped(session, bench.workshop.people["owner"], Event).where(Event.what == what)
        return len(session.scalars(rows).all())


def put_make(monkeypatch: pytest.MonkeyPatch, make: Make) -> None:
    monkeypatch.setattr("app.services.press.Press.make", make)
