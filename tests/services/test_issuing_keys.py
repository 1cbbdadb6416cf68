"""A key that is renewed or trusted no more while a certificate is under way."""

from collections.abc import Callable
from datetime import timedelta

import pytest

from app.services import signing_keys
from app.services.issuing_queue import IssuingQueue
from app.services.order import Made, Order
from app.services.press import Press
from tests.services.certifying import Bench
from tests.services.issuing_bench import FIRST, progress, put_make, sign_off
from tests.signing.pages import signed_with, unsigned


def renew(done: Bench) -> None:
    done.workshop.do(signing_keys.renew, "owner", None, press=done.press)


def distrust(done: Bench) -> None:
    (newest, *_older) = signing_keys.signer_views(done.press)
    since = done.workshop.now - timedelta(hours=1)
    words = (newest.sha256, since, "burglary")
    done.workshop.do(signing_keys.distrust_signer, "owner", *words, press=done.press)


KEYS = pytest.mark.parametrize(
    ("meanwhile", "code"), [(renew, "signing_key_changed"), (distrust, "signing_key_distrusted")]
)


@KEYS
def test_a_key_that_went_before_its_turn_makes_no_file(
    queue: IssuingQueue, done: Bench, meanwhile: Callable[[Bench], None], code: str
) -> None:
    sign_off(queue, done)
    meanwhile(done)
    queue.finish_next()
    assert done.register() == {FIRST: "void"}
    assert progress(done).reason == f"The file could not be made ({code})."


@KEYS
def test_a_key_that_went_while_the_file_was_made_enters_none(
    queue: IssuingQueue,
    done: Bench,
    monkeypatch: pytest.MonkeyPatch,
    meanwhile: Callable[[Bench], None],
    code: str,
) -> None:
    """The file was signed with it; it is asked again in the unit that would make it valid."""

    def make(press: Press, order: Order, beat: Callable[[], None] | None = None) -> Made:
        meanwhile(done)
        return Made(signed_with(order.key, order.when, unsigned()), None)

    sign_off(queue, done)
    put_make(monkeypatch, make)
    queue.finish_next()
    assert done.register() == {FIRST: "void"}
    assert progress(done).reason == f"The file could not be made ({code})."
