"""A key that is renewed, replaced or trusted no more while a certificate is under way.

What was signed for before a renewal is finished with the key of that moment, which stays trusted:
nobody has to sign again. A key that is trusted no more enters nothing.
"""

from collections.abc import Callable
from datetime import timedelta

import pytest

from app.records.scope import scoped
from app.records.tables import Certificate
from app.services import signing_keys
from app.services.issuing_queue import IssuingQueue
from app.services.order import Made, Order
from app.services.press import Press
from app.services.verification import verify
from app.signing.authority import FOLDER, SIGNERS
from app.signing.profile import new_key
from tests.services.certifying import Bench
from tests.services.issuing_bench import FIRST, progress, put_make, sign_off
from tests.signing.pages import signed_with, unsigned
from tests.signing.test_renewal import OWN, issued_to


def renew(done: Bench) -> None:
    done.workshop.do(signing_keys.renew, "owner", None, press=done.press)


def distrust(done: Bench) -> None:
    (newest, *_older) = signing_keys.signer_views(done.press)
    since = done.workshop.now - timedelta(hours=1)
    words = (newest.sha256, since, "burglary")
    done.workshop.do(signing_keys.distrust_signer, "owner", *words, press=done.press)


def renew_authority(done: Bench) -> None:
    words = {"press": done.press, "authority_too": True}
    done.workshop.do(signing_keys.renew, "owner", None, **words)


def load_own(done: Bench) -> None:
    own = issued_to("Brook Lane Frames", (new_key(), new_key())).file()
    done.workshop.do(signing_keys.load_own, "owner", own, OWN, press=done.press)


def set_password(done: Bench) -> None:
    done.workshop.do(signing_keys.set_password, "owner", None, OWN, press=done.press)


def mark_the_folder_as_another(done: Bench) -> None:
    """As after bringing back a backup of before the key was made."""
    (done.press.data_dir / FOLDER / SIGNERS).unlink()


RENEWED = pytest.mark.parametrize("meanwhile", [renew, renew_authority, load_own, set_password])
GONE = pytest.mark.parametrize(
    ("meanwhile", "why"),
    [
        (distrust, "the signing key was marked as not to be trusted any more"),
        (mark_the_folder_as_another, "the shop's signing key is another one since it was signed"),
    ],
)


def make_after(monkeypatch: pytest.MonkeyPatch, act: Callable[[], None]) -> None:
    """The file is made, and meanwhile this happens."""

    def make(press: Press, order: Order, beat: Callable[[], None] | None = None) -> Made:
        act()
        return Made(signed_with(order.key, order.when, unsigned()), None)

    put_make(monkeypatch, make)


def require_good(done: Bench) -> None:
    """In force, and taken by the strict rule with the keys of today."""
    assert done.register() == {FIRST: "valid"}
    shop = done.workshop
    found = verify(shop.database, done.pdf(FIRST), shop.now, press=done.press)
    assert (found.unaltered, found.why_not, found.in_force) == (True, None, True)


@RENEWED
def test_a_key_renewed_before_its_turn_finishes_what_was_signed_for(
    queue: IssuingQueue,
    done: Bench,
    monkeypatch: pytest.MonkeyPatch,
    meanwhile: Callable[[Bench], None],
) -> None:
    make_after(monkeypatch, lambda: None)
    sign_off(queue, done)
    meanwhile(done)
    queue.finish_next()
    require_good(done)


@RENEWED
def test_a_key_renewed_while_the_file_was_made_enters_it(
    queue: IssuingQueue,
    done: Bench,
    monkeypatch: pytest.MonkeyPatch,
    meanwhile: Callable[[Bench], None],
) -> None:
    make_after(monkeypatch, lambda: meanwhile(done))
    sign_off(queue, done)
    queue.finish_next()
    require_good(done)


def test_what_is_signed_for_after_a_renewal_is_signed_with_the_new_key(
    queue: IssuingQueue, done: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    make_after(monkeypatch, lambda: None)
    sign_off(queue, done)
    renew(done)
    sign_off(queue, done, "report")
    while queue.finish_next():
        pass
    with done.workshop.database.read() as session:
        owner = done.workshop.people["owner"]
        rows = session.scalars(scoped(session, owner, Certificate).order_by(Certificate.id)).all()
        signed_by = [row.signer_fingerprint for row in rows]
    new, old = (one.sha256 for one in signing_keys.signer_views(done.press))
    assert signed_by == [old, new]
    assert set(done.register().values()) == {"valid"}


@GONE
def test_a_key_that_went_before_its_turn_makes_no_file(
    queue: IssuingQueue, done: Bench, meanwhile: Callable[[Bench], None], why: str
) -> None:
    sign_off(queue, done)
    meanwhile(done)
    queue.finish_next()
    require_void(done, why)


@GONE
def test_a_key_that_went_while_the_file_was_made_enters_none(
    queue: IssuingQueue,
    done: Bench,
    monkeypatch: pytest.MonkeyPatch,
    meanwhile: Callable[[Bench], None],
    why: str,
) -> None:
    """The file was signed with it; it is asked again in the unit that would make it valid."""
    make_after(monkeypatch, lambda: meanwhile(done))
    sign_off(queue, done)
    queue.finish_next()
    require_void(done, why)


def require_void(done: Bench, why: str) -> None:
    """The reason stands in the register in words, and another may be signed for."""
    assert done.register() == {FIRST: "void"}
    assert (progress(done).reason or "").startswith(f"The file could not be made ({why}")
    assert done.codes() == []
