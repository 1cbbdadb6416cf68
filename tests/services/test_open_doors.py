"""What strangers may ask for: bounded in memory, time, number and tries; issuing never waits."""

import threading
import time
import zlib
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest

from app.errors import NotFound, TooManyTries, Unavailable
from app.services import throttle, verification
from app.services.order import Made
from app.services.press import EXAMINING_S, MOST_EXAMINED, Press
from app.services.throttle import FREE_TRIES
from app.signing.trust import Trust
from tests.databases import NOW
from tests.services.certifying import Bench, Benches

STRANGER = "203.0.113.9"
UNPACKED = 200_000_000


def bomb() -> bytes:
    """A PDF of 200 kB whose table of places unpacks to two hundred million bytes."""
    packed = zlib.compress(bytes(UNPACKED), 9)
    head = (
        f"1 0 obj <</Type/XRef/Size {UNPACKED // 17}/W[1 8 8]/Root 2 0 R"
        f"/Filter/FlateDecode/Length {len(packed)}>> stream\n"
    )
    body = b"%PDF-1.7\n" + head.encode() + packed + b"\nendstream endobj\n"
    return body + b"2 0 obj <</Type/Catalog>> endobj\nstartxref\n9\n%%EOF\n"


@pytest.fixture
def press(tmp_path: Path) -> Iterator[Press]:
    made = Press(tmp_path)
    yield made
    made.close()


@pytest.fixture
def done(benches: Benches, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Bench]:
    monkeypatch.setattr(
        "app.services.press.Press.make",
        lambda press, order, beat=None: Made(b"%PDF " + order.data, None),
    )
    made = benches.copy(tmp_path)
    yield made
    made.workshop.database.close()


def test_a_file_that_unpacks_to_a_thousand_times_its_size_is_unreadable_and_cheap(
    press: Press,
) -> None:
    pdf = bomb()
    assert len(pdf) < 250_000
    press.examine(b"%PDF-1.7", Trust(()), NOW)
    start = time.monotonic()
    assert press.examine(pdf, Trust(()), NOW).why_not == "unreadable"
    assert time.monotonic() - start < EXAMINING_S


def test_checking_has_a_process_of_its_own(press: Press) -> None:
    """Somebody's file is being checked: the worker that signs is free all the same."""
    with press.checker._one_at_a_time:
        waiting = threading.Thread(target=lambda: press.examine(b"", Trust(()), NOW))
        waiting.start()
        assert press.worker._one_at_a_time.acquire(timeout=1.0)
        press.worker._one_at_a_time.release()
        assert waiting.is_alive()
    waiting.join()


def test_more_files_than_can_be_checked_at_once_are_refused_at_once(press: Press) -> None:
    with press.checker._one_at_a_time:
        waiting = [
            threading.Thread(target=lambda: press.examine(b"", Trust(()), NOW))
            for _ in range(MOST_EXAMINED)
        ]
        for thread in waiting:
            thread.start()
        wait_until(lambda: press._may_examine._value == 0)
        with pytest.raises(Unavailable, match="checks_busy") as caught:
            press.examine(b"", Trust(()), NOW)
        assert caught.value.facts["retry_after_s"] == int(EXAMINING_S)
    for thread in waiting:
        thread.join()
    assert press.examine(b"", Trust(()), NOW).why_not == "unreadable", (
        "afterwards there is room again"
    )


def wait_until(true) -> None:  # type: ignore[no-untyped-def]
    end = time.monotonic() + 5.0
    while not true() and time.monotonic() < end:
        time.sleep(0.01)
    assert true()


def check(done: Bench, pdf: bytes = b"no PDF", address: str = STRANGER) -> bool:
    shop = done.workshop
    return verification.check_file(
        shop.database, pdf, shop.now, press=done.press, address=address
    ).unaltered


def test_a_file_is_examined_outside_of_any_session(
    done: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Were one open, the connections that serve the pages would run out."""
    done.issue()
    inner, out = Press.examine, []

    def watched(press: Press, *words: object) -> object:
        out.append(done.workshop.database.engine.pool.checkedout())  # type: ignore[attr-defined]
        return inner(press, *words)  # type: ignore[arg-type]

    monkeypatch.setattr(Press, "examine", watched)
    check(done)
    assert out == [0]


def test_one_address_has_only_so_many_files_checked(done: Bench) -> None:
    done.issue()
    for _ in range(FREE_TRIES["check"]):
        check(done)
    with pytest.raises(TooManyTries) as caught:
        check(done)
    assert caught.value.retry_after_s == 60
    assert check(done, address="203.0.113.10") is False, "others are served"
    done.workshop.now += timedelta(hours=2)
    assert check(done) is False, "a quiet spell forgives"


def test_certificates_of_the_shop_use_up_no_tries(
    done: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.undo()
    monkeypatch.setitem(FREE_TRIES, "check", 2)
    pdf = done.pdf(done.issue().number)
    for _ in range(4):
        assert check(done, pdf)


def test_one_address_looks_up_only_so_many_numbers(done: Bench) -> None:
    number, shop = done.issue().number, done.workshop

    def look(number: str) -> str:
        found = verification.look_up(shop.database, number, shop.now, address=STRANGER)
        return found.number

    for _ in range(FREE_TRIES["number"] - 1):
        assert look(number) == number
    with pytest.raises(NotFound):
        look("C-2026-9999")
    with pytest.raises(TooManyTries):
        look(number)


@pytest.mark.parametrize(
    ("address", "client"),
    [
        ("203.0.113.9", "203.0.113.9"),
        ("2001:db8:1:2:3:4:5:6", "2001:db8:1:2::/64"),
        ("2001:db8:1:2:ffff::1", "2001:db8:1:2::/64"),
        ("::1", "::/64"),
        ("::ffff:203.0.113.9", "203.0.113.9"),
        ("", ""),
    ],
)
def test_who_has_a_network_of_addresses_counts_as_one(address: str, client: str) -> None:
    assert throttle.network_of(address) == client
