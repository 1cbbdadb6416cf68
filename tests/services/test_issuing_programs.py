"""Whatever ends while certificates are made: workers, programs, one of two; and the locked key."""

import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from datetime import timedelta
from pathlib import Path

import pytest

from app.errors import BadInput, NotAllowed, Unavailable
from app.records.scope import scoped
from app.records.tables import Person
from app.services import issuing_progress, signing_keys
from app.services.issuing_queue import IssuingQueue
from app.services.issuing_tasks import HELD_FOR, MOST_TRIES
from app.services.order import Made, Order
from app.services.press import Press
from app.services.worker import Worker
from tests.services.certifying import Bench
from tests.services.issuing_bench import (
    FIRST,
    SECOND,
    events,
    progress,
    put_make,
    queue_of,
    sign_off,
)
from tests.services.issuing_worker import ENDS, HANGS

KEY_PASSWORD = "a door that is never painted"


def test_a_person_who_was_disabled_meanwhile_signs_nothing(
    queue: IssuingQueue, done: Bench
) -> None:
    sign_off(queue, done)
    shop, inspector = done.workshop, done.workshop.people["inspector"]
    with shop.database.write() as session:
        rows = scoped(session, inspector, Person).where(Person.id == inspector.person_id)
        session.scalars(rows).one().disabled_at = shop.now
    queue.finish_next()
    assert done.register() == {FIRST: "void"}


def test_after_a_restart_what_was_left_is_finished(queue: IssuingQueue, done: Bench) -> None:
    """The program was killed: nobody let anything go. The next one waits until that is certain."""
    sign_off(queue, done)
    later = queue_of(done)
    assert not later.finish_next(), "the first one may still live"
    done.workshop.now += HELD_FOR
    assert later.finish_next()
    assert done.register() == {FIRST: "valid"}


def test_a_program_that_ends_in_order_lets_the_next_one_go_on_at_once(
    queue: IssuingQueue, done: Bench
) -> None:
    sign_off(queue, done)
    queue._let_go()
    assert queue_of(done).finish_next()


def test_of_two_programs_only_one_finishes_a_number(
    queue: IssuingQueue, done: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The first one is so slow that it counts as dead; what it brings afterwards is thrown away."""
    other = queue_of(done)
    brought: list[int] = []

    def slow(press: Press, order: Order, beat: Callable[[], None] | None = None) -> Made:
        if not brought:
            brought.append(1)
            assert not other.finish_next(), "the first one holds it"
            done.workshop.now += HELD_FOR
            assert other.finish_next()
            return Made(b"%PDF of the first", None)
        return Made(b"%PDF of the second", None)

    put_make(monkeypatch, slow)
    sign_off(queue, done)
    queue.finish_next()
    assert done.register() == {FIRST: "valid"}
    assert done.pdf(FIRST) == b"%PDF of the second"
    assert events(done, "certificate.issued") == 1


def test_of_two_programs_none_voids_what_the_other_finished(
    queue: IssuingQueue, done: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    other = queue_of(done)
    tried: list[int] = []

    def broken(press: Press, order: Order, beat: Callable[[], None] | None = None) -> Made:
        if tried:
            return Made(b"%PDF", None)
        tried.append(1)
        done.workshop.now += HELD_FOR
        other.finish_next()
        raise Unavailable("render_refused", None, reason="too late to matter")

    put_make(monkeypatch, broken)
    sign_off(queue, done)
    queue.finish_next()
    assert done.register() == {FIRST: "valid"}
    assert events(done, "certificate.voided") == 0


def test_while_it_works_a_program_says_that_it_lives(
    queue: IssuingQueue, done: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    def slow(press: Press, order: Order, beat: Callable[[], None] | None = None) -> Made:
        assert beat is not None
        for _ in range(5):
            done.workshop.now += HELD_FOR / 2
            beat()
            assert not queue_of(done).finish_next()
        return Made(b"%PDF", None)

    put_make(monkeypatch, slow)
    sign_off(queue, done)
    queue.finish_next()
    assert done.register() == {FIRST: "valid"}


def test_a_clock_that_was_put_back_holds_nothing_up(queue: IssuingQueue, done: Bench) -> None:
    sign_off(queue, done)
    done.workshop.now -= timedelta(days=1)
    assert queue_of(done).finish_next()


def test_a_number_on_which_program_after_program_ended_waits_for_a_person(
    queue: IssuingQueue, done: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    def killed(press: Press, order: Order, beat: Callable[[], None] | None = None) -> Made:
        raise SystemExit

    put_make(monkeypatch, killed)
    sign_off(queue, done)
    done.workshop.now += HELD_FOR
    for _ in range(MOST_TRIES):
        with pytest.raises(SystemExit):
            queue_of(done).finish_next()
        done.workshop.now += HELD_FOR
    assert not queue_of(done).finish_next()
    assert (progress(done).state, progress(done).problem) == ("waits_for_person", "program_ended")


def test_the_password_of_the_key_and_the_open_key_are_on_no_disk(
    queue: IssuingQueue, done: Bench
) -> None:
    lock(queue, done)
    with pytest.raises(NotAllowed, match="signing_password_needed"):
        sign_off(queue, done, "report")
    sign_off(queue, done, "report", key_password=KEY_PASSWORD)
    key = queue.key_for(SECOND)
    assert key is not None
    for file in done.press.data_dir.rglob("*"):
        if file.is_file():
            content = file.read_bytes()
            assert KEY_PASSWORD.encode() not in content
            assert key.private_der not in content
    queue.finish_next()
    assert done.register()[SECOND] == "valid"
    assert queue.key_for(SECOND) is None, "it is kept no longer than it is needed"


def lock(queue: IssuingQueue, done: Bench) -> None:
    """The owner puts the key under a password, once there is one."""
    sign_off(queue, done)
    queue.finish_next()
    with done.workshop.database.write() as session:
        signing_keys.set_password(
            session,
            done.workshop.people["owner"],
            None,
            KEY_PASSWORD,
            done.workshop.now,
            press=done.press,
        )


def test_after_a_restart_a_locked_key_waits_for_its_password(
    queue: IssuingQueue, done: Bench
) -> None:
    lock(queue, done)
    sign_off(queue, done, "report", key_password=KEY_PASSWORD)
    done.workshop.now += HELD_FOR
    later, inspector, now = queue_of(done), done.workshop.people["inspector"], done.workshop.now
    assert later.finish_next()
    assert progress(done, SECOND).state == "waits_for_key"
    for wrong in (None, "not this one"):
        with pytest.raises(BadInput) as caught:
            issuing_progress.resume(later, inspector, SECOND, wrong, now)
        assert caught.value.problems[0].field == "key_password"
    issuing_progress.resume(later, inspector, SECOND, KEY_PASSWORD, now)
    later.finish_next()
    assert done.register()[SECOND] == "valid"


def test_another_key_than_the_one_signed_for_with_signs_nothing(
    queue: IssuingQueue, done: Bench
) -> None:
    sign_off(queue, done)
    with done.workshop.database.write() as session:
        owner, now = done.workshop.people["owner"], done.workshop.now
        signing_keys.renew(session, owner, None, now, press=done.press)
    done.workshop.now += HELD_FOR
    queue_of(done).finish_next()
    assert done.register() == {FIRST: "void"}
    assert (progress(done).reason or "").endswith("it was signed for: signing_key_changed).")


@pytest.fixture
def real_worker(done: Bench, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A press with a process of its own, which ends or hangs when this file says so."""
    monkeypatch.setattr(IssuingQueue, "start", lambda queue: None)
    told = tmp_path / "told"
    monkeypatch.setenv("ISSUING_WORKER", str(told))
    done.press.worker = Worker("tests.services.issuing_worker", tries=1)
    done.press._can_print = True
    yield told
    done.press.worker.close()


def test_a_worker_that_dies_is_replaced_and_nothing_is_lost(real_worker: Path, done: Bench) -> None:
    queue = queue_of(done)
    sign_off(queue, done)
    real_worker.write_text(ENDS)
    queue.finish_next()
    assert progress(done).problem == "worker_failed"
    queue.finish_next()
    assert done.register() == {FIRST: "valid"}


def test_a_worker_that_takes_too_long_is_ended(real_worker: Path, done: Bench) -> None:
    queue = queue_of(done)
    sign_off(queue, done)
    real_worker.write_text(HANGS)
    done.press.worker.time_limit_s = 0.2
    queue.finish_next()
    assert progress(done).problem == "worker_too_slow"
    real_worker.unlink()
    done.press.worker.time_limit_s = 30.0
    queue.finish_next()
    assert done.register() == {FIRST: "valid"}


def test_a_program_that_is_told_to_stop_does_so_in_the_middle_of_a_file(
    real_worker: Path, done: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.undo()
    monkeypatch.setenv("ISSUING_WORKER", str(real_worker))
    real_worker.write_text(HANGS)
    queue = queue_of(done)
    sign_off(queue, done)
    wait_until(lambda: progress(done).state == "being_made")
    began = time.monotonic()
    queue.close()
    assert time.monotonic() - began < 10
    assert (progress(done).state, progress(done).tries) == ("queued", 0)
    real_worker.unlink()
    assert queue_of(done).finish_next(), "nobody has to wait until it counts as dead"
    assert done.register() == {FIRST: "valid"}


def wait_until(true: Callable[[], bool]) -> None:
    end = time.monotonic() + 20.0
    while not true() and time.monotonic() < end:
        time.sleep(0.02)
    assert true()


PROGRAM = """
import sys
from datetime import datetime
from pathlib import Path
from app.records.session import Database
from app.services.issuing_queue import IssuingQueue
from app.services.press import Press
from app.services.worker import Worker

folder, now = Path(sys.argv[1]), datetime.fromisoformat(sys.argv[2])
press = Press(folder)
press.worker = Worker("tests.services.issuing_worker", tries=1)
queue = IssuingQueue(Database(f"sqlite:///{folder}/workshop.sqlite"), press, lambda: now)
while queue.finish_next():
    pass
"""


def test_a_program_that_is_killed_while_it_makes_a_file_leaves_it_to_the_next(
    real_worker: Path, done: Bench
) -> None:
    """A real process, killed as a power cut would end it."""
    queue = queue_of(done)
    sign_off(queue, done)
    queue._let_go()
    real_worker.write_text(HANGS)
    command = [sys.executable, "-c", PROGRAM, str(done.press.data_dir)]
    program = subprocess.Popen([*command, done.workshop.now.isoformat()])
    wait_until(lambda: progress(done).state == "being_made")
    program.kill()
    program.wait()
    real_worker.unlink()
    assert done.register() == {FIRST: "issuing"}
    assert not queue.finish_next(), "the other program may still live"
    done.workshop.now += HELD_FOR
    assert queue.finish_next()
    assert done.register() == {FIRST: "valid"}
    assert events(done, "certificate.issued") == 1
