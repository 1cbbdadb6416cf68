"""Certificates with a time stamp, and what the record says of those without."""

import hashlib
import urllib.error
from datetime import timedelta

import pytest

from app.errors import Unavailable
from app.services import certificates, verification
from app.services.issuing_queue import IssuingQueue
from app.services.press import Press
from app.signing.authority import FOLDER, found_authority
from app.signing.signature import stamper_for
from app.signing.time_stamp_service import Choice, set_service
from app.wording.verification import without_stamp
from tests.services.certifying import Bench
from tests.signing.time_authority import TimeAuthority, made, put_in_place


@pytest.fixture
def time(done: Bench) -> TimeAuthority:
    stamper_for.cache_clear()
    return made(done.workshop.now)


@pytest.fixture
def bench(done: Bench) -> Bench:
    """A shop whose press works in this process, where answers can be put in place."""
    done.press = Press(done.press.data_dir, done.press.public_url, own_process=False)
    found_authority(done.press.data_dir, "Invented Workshop", done.workshop.now)
    return done


def use(bench: Bench, time: TimeAuthority, choice: Choice) -> None:
    set_service(bench.press.data_dir / FOLDER, time.service(choice))


def unreachable(stamper: object, query: bytes) -> bytes:
    raise urllib.error.URLError("no route")


def test_a_stamped_certificate_says_so_on_record_and_when_checked(
    bench: Bench, time: TimeAuthority, monkeypatch: pytest.MonkeyPatch
) -> None:
    use(bench, time, "refuse")
    put_in_place(monkeypatch, time, bench.workshop.now)
    view = bench.issue()
    assert (view.status, view.time_stamp) == ("valid", "stamped")
    pdf = bench.pdf(view.number)
    assert hashlib.sha256(pdf).hexdigest() == view.pdf_sha256
    found = verification.verify(bench.workshop.database, pdf, bench.workshop.now, press=bench.press)
    assert found.unaltered
    assert found.in_force
    assert (found.stamped_at, found.stamped_by) == (bench.workshop.now, "Invented Time Stamps")
    assert found.stamp_trusted


def test_where_none_is_to_be_had_the_number_is_kept_until_there_is_one(
    bench: Bench, time: TimeAuthority, monkeypatch: pytest.MonkeyPatch
) -> None:
    use(bench, time, "refuse")
    monkeypatch.setattr("app.signing.time_stamps.Stamper.posted", unreachable)
    with pytest.raises(Unavailable, match="time_stamp_unreachable"):
        bench.issue()
    (view,) = bench.workshop.see(certificates.certificates, "owner")
    assert (view.number, view.status, view.time_stamp) == ("C-2026-0001", "issuing", None)
    put_in_place(monkeypatch, time, bench.workshop.now)
    bench.workshop.now += timedelta(minutes=2)
    queue = IssuingQueue(bench.workshop.database, bench.press, lambda: bench.workshop.now)
    assert queue.finish_next()
    (view,) = bench.workshop.see(certificates.certificates, "owner")
    assert (view.number, view.status, view.time_stamp) == ("C-2026-0001", "valid", "stamped")


def test_or_sign_without_one_and_say_so(
    bench: Bench, time: TimeAuthority, monkeypatch: pytest.MonkeyPatch
) -> None:
    use(bench, time, "sign_without")
    monkeypatch.setattr("app.signing.time_stamps.Stamper.posted", unreachable)
    view = bench.issue()
    assert (view.status, view.time_stamp) == ("valid", "unreachable")
    found = verification.verify(
        bench.workshop.database, bench.pdf(view.number), bench.workshop.now, press=bench.press
    )
    assert found.unaltered
    assert found.stamped_at is None
    assert found.entry is not None
    assert "could not be reached" in without_stamp(found.entry.time_stamp)
