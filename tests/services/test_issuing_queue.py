"""Certificates finished in the background: in order, once, again where something may pass."""

import threading
from collections.abc import Callable
from datetime import timedelta

import pytest

from app.errors import BadInput, Conflict, NotAllowed
from app.records.scope import scoped
from app.records.tables import IssuingTask
from app.services import certificates, issuing_progress
from app.services.issuing_queue import IssuingQueue
from app.services.issuing_tasks import MOST_TRIES
from app.services.order import Made, Order
from app.services.press import Press
from tests.services.certifying import Bench, see_cracks
from tests.services.issuing_bench import (
    FIRST,
    SECOND,
    events,
    failing,
    progress,
    put_make,
    sign_off,
)


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


def test_given_up_before_its_turn_it_is_void_with_the_reason(
    queue: IssuingQueue, done: Bench
) -> None:
    sign_off(queue, done)
    done.workshop.do(issuing_progress.give_up, "inspector", FIRST, "wrong machine")
    assert not queue.finish_next()
    assert (progress(done).state, progress(done).reason) == ("void", "wrong machine")
    with pytest.raises(Conflict, match="certificate_not_issuing"):
        done.workshop.do(issuing_progress.give_up, "inspector", FIRST, "again")


def test_nothing_is_left_of_a_task_that_is_done(queue: IssuingQueue, done: Bench) -> None:
    sign_off(queue, done)
    queue.finish_next()
    with done.workshop.database.read() as session:
        rows = scoped(session, done.workshop.people["owner"], IssuingTask)
        assert session.scalars(rows).all() == []
    assert done.workshop.see(certificates.certificate, "desk", FIRST).status == "valid"
