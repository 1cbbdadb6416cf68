"""Certificates finished in the background: in order, once, and whatever ends meanwhile."""

import threading
import time
from collections.abc import Callable, Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from app.errors import BadInput, Conflict, NotAllowed, Unavailable
from app.records.scope import scoped
from app.records.tables import Event, IssuingTask, Person
from app.services import certificates, issuing_progress, signing_keys
from app.services.issuing_progress import Progress
from app.services.issuing_queue import IssuingQueue
from app.services.issuing_tasks import HELD_FOR, MOST_TRIES
from app.services.order import Made, Order
from app.services.press import Press
from app.services.worker import Worker
from tests.databases import CHEAP
from tests.services.certifying import PASSWORD, Bench, see_cracks
from tests.services.issuing_worker import ENDS, HANGS

FIRST, SECOND = "C-2026-0001", "C-2026-0002"
KEY_PASSWORD = "a door that is never painted"
Make = Callable[[Press, Order, Callable[[], None] | None], Made]


@pytest.fixture
def queue(done: Bench, quick: None) -> Iterator[IssuingQueue]:
    made = queue_of(done)
    yield made
    made.close()


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


@pytest.fixture(autouse=True)
def by_hand(monkeypatch: pytest.MonkeyPatch) -> None:
    """No thread of its own begins: each test says when the queue goes on."""
    monkeypatch.setattr(IssuingQueue, "start", lambda queue: None)


def progress(bench: Bench, number: str = FIRST) -> Progress:
    return bench.workshop.see(issuing_progress.progress, "desk", number)


def put_make(monkeypatch: pytest.MonkeyPatch, make: Make) -> None:
    monkeypatch.setattr("app.services.press.Press.make", make)


def failing(code: str) -> Make:
    def make(press: Press, order: Order, beat: Callable[[], None] | None = None) -> Made:
        raise Unavailable(code)

    return make


def events(bench: Bench, what: str) -> int:
    with bench.workshop.database.read() as session:
        rows = scoped(session, bench.workshop.people["owner"], Event).where(Event.what == what)
        return len(session.scalars(rows).all())


def test_a_number_is_there_at_once_and_its_file_when_its_turn_comes(
    queue: IssuingQueue, done: Bench
) -> None:
    assert sign_off(queue, done) == FIRST
    assert done.register() == {FIRST: "issuing"}
    assert progress(done).state == "queued"
    with pytest.raises(Conflict, match="certificate_has_no_file"):
        done.pdf(FIRST)
    assert queue.finish_next()
    assert done.register() == {FIRST: "valid"}
    assert progress(done).state == "stored"
    assert not queue.finish_next(), "nothing is left to do"


def test_they_are_finished_in_the_order_of_their_numbers(queue: IssuingQueue, done: Bench) -> None:
    sign_off(queue, done)
    sign_off(queue, done, "report")
    assert progress(done, SECOND).ahead == 1
    queue.finish_next()
    assert done.register() == {FIRST: "valid", SECOND: "issuing"}
    assert progress(done, SECOND).ahead == 0
    queue.finish_next()
    assert done.register() == {FIRST: "valid", SECOND: "valid"}


def test_a_form_sent_twice_takes_one_number(queue: IssuingQueue, done: Bench) -> None:
    """Also after the first one is finished, and without asking the password again."""
    assert sign_off(queue, done, request_key="k1") == FIRST
    assert sign_off(queue, done, request_key="k1", password="") == FIRST
    queue.finish_next()
    assert sign_off(queue, done, request_key="k1") == FIRST
    assert done.register() == {FIRST: "valid"}
    assert events(done, "certificate.reserved") == 1


def test_other_words_under_the_same_key_are_another_form(queue: IssuingQueue, done: Bench) -> None:
    """The page was come back to, and something else was signed for on it."""
    sign_off(queue, done, request_key="k1")
    assert sign_off(queue, done, "report", request_key="k1") == SECOND


def test_a_form_sent_twice_at_once_takes_one_number(
    queue: IssuingQueue, done: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    both = threading.Barrier(2, timeout=10.0)

    def looked_at(press: Press, content: object, box: object) -> tuple[()]:
        both.wait()
        return ()

    monkeypatch.setattr("app.services.press.Press.problems_with", looked_at)
    got: list[str] = []
    send = lambda: got.append(sign_off(queue, done, request_key="k1"))  # noqa: E731
    threads = [threading.Thread(target=send) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert got == [FIRST, FIRST]
    assert done.register() == {FIRST: "issuing"}


def test_a_wrong_password_takes_no_number(queue: IssuingQueue, done: Bench) -> None:
    with pytest.raises(BadInput):
        sign_off(queue, done, password="not mine", request_key="k1")
    assert done.register() == {}
    assert sign_off(queue, done, request_key="k1") == FIRST, "the key was not used up"


def test_what_may_pass_is_tried_again_under_the_same_number(
    queue: IssuingQueue, done: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    sign_off(queue, done)
    with monkeypatch.context() as patch:
        put_make(patch, failing("worker_failed"))
        queue.finish_next()
    assert (progress(done).state, progress(done).problem) == ("queued", "worker_failed")
    queue.finish_next()
    assert done.register() == {FIRST: "valid"}


def test_after_a_few_tries_it_waits_for_a_person_who_has_it_tried_again(
    queue: IssuingQueue, done: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    sign_off(queue, done)
    with monkeypatch.context() as patch:
        put_make(patch, failing("worker_too_slow"))
        for _ in range(MOST_TRIES):
            assert queue.finish_next()
    assert not queue.finish_next()
    told = progress(done)
    assert (told.state, told.problem, told.tries) == ("waits_for_person", "worker_too_slow", 3)
    assert events(done, "certificate.waits") == 1
    inspector, now = done.workshop.people["inspector"], done.workshop.now
    with pytest.raises(NotAllowed):
        issuing_progress.resume(queue, done.workshop.people["desk"], FIRST, None, now)
    issuing_progress.resume(queue, inspector, FIRST, None, now)
    with pytest.raises(Conflict, match="certificate_not_waiting"):
        issuing_progress.resume(queue, inspector, FIRST, None, now)
    queue.finish_next()
    assert done.register() == {FIRST: "valid"}
    assert events(done, "certificate.resumed") == 1


def test_without_a_time_stamp_it_pauses_before_the_next_try(
    queue: IssuingQueue, done: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    sign_off(queue, done)
    with monkeypatch.context() as patch:
        put_make(patch, failing("time_stamp_unreachable"))
        queue.finish_next()
    assert progress(done).next_try_at == done.workshop.now + timedelta(minutes=1)
    assert not queue.finish_next()
    done.workshop.now += timedelta(seconds=61)
    assert queue.finish_next()
    assert done.register() == {FIRST: "valid"}


def test_one_that_waits_lets_the_others_pass(
    queue: IssuingQueue, done: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    sign_off(queue, done)
    with monkeypatch.context() as patch:
        put_make(patch, failing("time_stamp_unreachable"))
        queue.finish_next()
    sign_off(queue, done, "report")
    queue.finish_next()
    assert done.register() == {FIRST: "issuing", SECOND: "valid"}


def test_what_fails_for_good_becomes_void_and_the_queue_goes_on(
    queue: IssuingQueue, done: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(press: Press, order: Order, beat: Callable[[], None] | None = None) -> Made:
        if order.content.number == FIRST:
            raise ZeroDivisionError("unforeseen")
        return Made(b"%PDF", None)

    put_make(monkeypatch, broken)
    sign_off(queue, done)
    sign_off(queue, done, "report")
    assert queue.finish_next()
    assert queue.finish_next()
    assert done.register() == {FIRST: "void", SECOND: "valid"}
    assert progress(done).reason == "The file could not be made (internal_error)."


def test_what_comes_up_while_it_waits_counts(queue: IssuingQueue, done: Bench) -> None:
    sign_off(queue, done)
    see_cracks(done)
    queue.finish_next()
    assert done.register() == {FIRST: "void"}
    assert "hold" in str(progress(done).reason)


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


def test_given_up_before_its_turn_it_is_void_with_the_reason(
    queue: IssuingQueue, done: Bench
) -> None:
    sign_off(queue, done)
    done.workshop.do(issuing_progress.give_up, "inspector", FIRST, "wrong machine")
    assert not queue.finish_next()
    assert (progress(done).state, progress(done).reason) == ("void", "wrong machine")
    with pytest.raises(Conflict, match="certificate_not_issuing"):
        done.workshop.do(issuing_progress.give_up, "inspector", FIRST, "again")


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
    other, brought = queue_of(done), []

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
    other, tried = queue_of(done), []

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
            queue._renewed = -1e9
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
    for _ in range(MOST_TRIES):
        with pytest.raises(SystemExit):
            queue_of(done).finish_next() or queue.finish_next()
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
    assert progress(done).reason == "The file could not be made (signing_key_changed)."


@pytest.fixture
def real_worker(done: Bench, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A press with a process of its own, which ends or hangs when this file says so."""
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


def test_nothing_is_left_of_a_task_that_is_done(queue: IssuingQueue, done: Bench) -> None:
    sign_off(queue, done)
    queue.finish_next()
    with done.workshop.database.read() as session:
        rows = scoped(session, done.workshop.people["owner"], IssuingTask)
        assert session.scalars(rows).all() == []
    assert done.workshop.see(certificates.certificate, "desk", FIRST).status == "valid"
