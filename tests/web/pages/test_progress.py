"""From the inspector's signature to the file: what the pages say, and what can be done there."""

import asyncio
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from fastapi import FastAPI

from app.errors import Unavailable
from app.main import life
from app.services import certificates, issuing_tasks
from app.services.issuing_queue import IssuingQueue
from app.services.order import Made, Order
from app.web.guard import Guard
from tests.databases import CHEAP
from tests.services.staff import PASSWORD
from tests.web.shop import Shop, Visitor, issued, measured_job, open_shop, state_of, text_of

OTHER = {"make": "Fjordmark", "model": "Skarv 700", "frame_number": "ZZZTEST00A1000018"}
FIRST = "C-2026-0001"
PROGRESS = f"/certificates/{FIRST}/progress"
KEY = re.compile(r'name="request_key" value="([^"]+)"')


@pytest.fixture(autouse=True)
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """Files that are not laid out."""
    monkeypatch.setattr("app.services.press.Press.problems_with", lambda *words: ())
    monkeypatch.setattr(
        "app.services.press.Press.make", lambda press, order, beat=None: Made(b"%PDF", None)
    )


@pytest.fixture
def by_hand(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """The queue goes on only when a test says so."""
    with monkeypatch.context() as patch:
        patch.setattr(IssuingQueue, "start", lambda queue: None)
        yield


def signed_for(shop: Shop, **more: str) -> Visitor:
    """The inspector, who has just signed for a report."""
    number = measured_job(shop)
    inspector = shop.signed_in("inspector")
    key = KEY.search(inspector.get(f"/jobs/{number}/sign-off").text)
    assert key is not None
    form = {"kind": "report", "password": PASSWORD, "request_key": key[1], **more}
    answer = inspector.post(f"/jobs/{number}/certificates", form)
    assert (answer.status_code, answer.headers.get("location")) == (303, PROGRESS)
    again = inspector.post(f"/jobs/{number}/certificates", form)
    assert (again.status_code, again.headers.get("location")) == (303, PROGRESS), "sent twice"
    return inspector


def goes_on(shop: Shop) -> None:
    queue: IssuingQueue = state_of(shop).issuing
    queue.finish_next()


def failing(code: str) -> object:
    def make(press: object, order: Order, beat: object = None) -> Made:
        raise Unavailable(code)

    return make


def test_what_is_signed_for_is_finished_without_anybody(shop: Shop) -> None:
    inspector = signed_for(shop)
    issued(shop)
    answer = inspector.get(PROGRESS)
    assert (answer.status_code, answer.headers["location"]) == (303, f"/certificates/{FIRST}")
    assert "It is in force." in inspector.get(f"/certificates/{FIRST}").text


def test_a_form_sent_twice_takes_one_number(shop: Shop, by_hand: None) -> None:
    signed_for(shop)
    with shop.database.read() as session:
        (only,) = certificates.certificates(session, shop.people["desk"])
    assert (only.number, only.status) == (FIRST, "issuing")


def test_while_it_waits_the_page_says_so_and_looks_again_by_itself(
    shop: Shop, by_hand: None
) -> None:
    inspector = signed_for(shop)
    page = inspector.get(PROGRESS).text
    assert "it waits for its turn" in text_of(page)
    assert "It is the next one." in text_of(page)
    assert '<noscript><meta http-equiv="refresh" content="2"></noscript>' in page
    mark = inspector.get(f"{PROGRESS}/mark").text
    assert f'data-mark="{mark}"' in page
    register = inspector.get(f"/certificates/{FIRST}").text
    assert f'href="{PROGRESS}"' in register
    goes_on(shop)
    assert inspector.get(f"{PROGRESS}/mark").text != mark


def test_others_see_how_far_it_is_and_can_do_nothing_about_it(shop: Shop, by_hand: None) -> None:
    signed_for(shop)
    desk = shop.signed_in("desk")
    page = desk.get(PROGRESS).text
    assert "it waits for its turn" in text_of(page)
    assert "/give-up" not in page
    assert desk.post(f"/certificates/{FIRST}/resume", {}).status_code == 403
    assert desk.post(f"/certificates/{FIRST}/give-up", {"reason": "x"}).status_code == 403


def test_one_that_stands_still_says_why_and_what_to_do_and_is_finished_by_a_button(
    shop: Shop, by_hand: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    inspector = signed_for(shop)
    with monkeypatch.context() as patch:
        patch.setattr("app.services.press.Press.make", failing("worker_failed"))
        for _ in range(issuing_tasks.MOST_TRIES):
            goes_on(shop)
    page = inspector.get(PROGRESS).text
    told = text_of(page)
    assert "Its number is kept." in told
    assert "ended before it was done" in told
    assert "free memory" in told
    assert "http-equiv" not in page, "nothing goes on by itself"
    answer = inspector.post(f"/certificates/{FIRST}/resume", {})
    assert (answer.status_code, answer.headers["location"]) == (303, PROGRESS)
    goes_on(shop)
    assert inspector.get(PROGRESS).headers["location"] == f"/certificates/{FIRST}"


def test_after_a_restart_the_page_asks_for_the_password_of_the_key(
    shop: Shop, by_hand: None
) -> None:
    inspector = signed_for(shop)
    with shop.database.write() as session:
        task = issuing_tasks.task_of(session, shop.people["owner"], FIRST)
        assert task is not None
        issuing_tasks.wait_for(task, "key", "signing_password_needed")
    state_of(shop).issuing._keys.clear()
    page = inspector.get(PROGRESS)
    assert "kept nowhere" in text_of(page.text)
    assert 'name="key_password"' in page.text
    wrong = inspector.post(f"/certificates/{FIRST}/resume", {"key_password": "not this"})
    assert wrong.status_code == 422
    assert '<a href="#key_password">' in wrong.text
    answer = inspector.post(f"/certificates/{FIRST}/resume", {})
    assert answer.headers["location"] == PROGRESS
    goes_on(shop)
    assert inspector.get(PROGRESS).headers["location"] == f"/certificates/{FIRST}"


def test_a_time_stamp_that_is_not_to_be_had_is_told_with_the_next_try(
    shop: Shop, by_hand: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    inspector = signed_for(shop)
    monkeypatch.setattr("app.services.press.Press.make", failing("time_stamp_unreachable"))
    goes_on(shop)
    told = text_of(inspector.get(PROGRESS).text)
    assert "The time-stamp service could not be reached" in told
    assert "It is tried again by itself at" in told


def test_given_up_it_is_void_with_the_reason(shop: Shop, by_hand: None) -> None:
    inspector = signed_for(shop)
    place = f"/certificates/{FIRST}/give-up"
    assert "stays in the register as void" in text_of(inspector.get(place).text)
    assert inspector.post(place, {"reason": " "}).status_code == 422
    answer = inspector.post(place, {"reason": "wrong machine"})
    assert (answer.status_code, answer.headers["location"]) == (303, PROGRESS)
    told = text_of(inspector.get(PROGRESS).text)
    assert "no certificate under this number" in told
    assert "wrong machine" in told
    assert inspector.post(place, {"reason": "again"}).status_code == 409


def test_what_fails_for_good_says_so(
    shop: Shop, by_hand: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    inspector = signed_for(shop)
    monkeypatch.setattr("app.services.press.Press.make", failing("render_refused"))
    goes_on(shop)
    told = text_of(inspector.get(PROGRESS).text)
    assert "no certificate under this number" in told
    assert "render_refused" in told
    assert "sign for a new one" in told


def test_what_a_crash_left_half_issued_is_closed_or_finished_by_the_next_start(
    shop: Shop, tmp_path: Path
) -> None:
    """The program was killed with two numbers under way; of one nothing is left to be done."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(IssuingQueue, "start", lambda queue: None)
        signed_for(shop)
        inspector, second = (
            shop.people["inspector"],
            measured_job(shop, ("after-corrected.json",), machine=OTHER),
        )
        now, words = shop.clock["now"], {"passwords": CHEAP}
        queue: IssuingQueue = state_of(shop).issuing
        queue.sign_off(inspector, second, "report", PASSWORD, now, **words)
    with shop.database.write() as session:
        task = issuing_tasks.task_of(session, inspector, FIRST)
        session.delete(task)
    next_start = open_shop(shop.database, shop.people, tmp_path)
    next_start.clock["now"] = now + issuing_tasks.HELD_FOR
    page = asyncio.run(seen_at_start(next_start))
    assert "The program ended before this certificate was finished." in page
    told = {one.number: one.status for one in register(shop)}
    assert told == {FIRST: "void", "C-2026-0002": "valid"}


async def seen_at_start(shop: Shop) -> str:
    """What stands about the first number as soon as somebody may ask, once all is finished."""
    assert isinstance(shop.app, Guard)
    assert isinstance(shop.app.app, FastAPI)
    async with life(shop.app.app):
        first = next(one for one in register(shop) if one.number == FIRST)
        await asyncio.to_thread(issued, shop)
    return first.status_reason or ""


def register(shop: Shop) -> tuple[certificates.CertificateView, ...]:
    with shop.database.read() as session:
        return certificates.certificates(session, shop.people["inspector"])
