"""What goes wrong: told without details, and never half done."""

import logging
import re

import pytest
from sqlalchemy import event

from app.records.session import ShopSession
from app.services import today
from tests.services.forms import check_in_form
from tests.web.api.client import ROOT
from tests.web.shop import Shop, text_of

SECRET = "the colour of the safe is green"


def flat(form: dict[str, object], before: str = "") -> dict[str, str]:
    """A nested form as the fields of a page."""
    fields: dict[str, str] = {}
    for key, value in form.items():
        name = f"{before}{key}"
        if isinstance(value, dict):
            fields |= flat(value, f"{name}.")
        else:
            fields[name] = "\n".join(value) if isinstance(value, list) else str(value)
    return fields


@pytest.fixture
def broken(monkeypatch: pytest.MonkeyPatch) -> None:
    """Today's list has a mistake in it."""

    def fail(*args: object, **kwargs: object) -> None:
        raise RuntimeError(SECRET)

    monkeypatch.setattr(today, "today", fail)


@pytest.mark.usefixtures("broken")
def test_a_crash_shows_a_number_and_no_detail(shop: Shop, caplog: pytest.LogCaptureFixture) -> None:
    with caplog.at_level(logging.ERROR):
        answer = shop.signed_in("desk").get("/")
    assert answer.status_code == 500
    assert SECRET not in answer.text
    assert "RuntimeError" not in answer.text
    number = re.search(r"<b>([0-9a-f]{8})</b>", answer.text)
    assert number is not None
    assert number[1] in caplog.text
    assert SECRET in caplog.text
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert "default-src 'none'" in answer.headers["content-security-policy"]


def test_a_page_that_breaks_while_telling_of_a_crash_still_answers(
    shop: Shop, monkeypatch: pytest.MonkeyPatch, broken: None
) -> None:
    def fail(*args: object) -> None:
        raise RuntimeError(SECRET)

    visitor = shop.signed_in("desk")
    monkeypatch.setattr("app.web.failures.show", fail)
    answer = visitor.get("/")
    assert answer.status_code == 500
    assert SECRET not in answer.text
    assert answer.headers["x-content-type-options"] == "nosniff"


def test_a_commit_that_fails_is_not_told_as_done(shop: Shop) -> None:
    """With the framework's default scope of dependencies the answer would already have left."""
    visitor = shop.signed_in("desk")
    visitor.get("/check-in")
    before = shop.digest()

    def refuse(session: ShopSession) -> None:
        raise RuntimeError("the disk is full")

    event.listen(ShopSession, "before_commit", refuse)
    try:
        answer = visitor.post("/check-in", flat(check_in_form()))
    finally:
        event.remove(ShopSession, "before_commit", refuse)
    assert answer.status_code == 500
    assert shop.digest() == before


def test_a_refused_form_leaves_nothing_behind(shop: Shop) -> None:
    visitor = shop.signed_in("desk")
    visitor.get("/check-in")
    before = shop.digest()
    form = flat(check_in_form())
    answer = visitor.post("/check-in", {**form, "machine.year": "next year"})
    assert answer.status_code == 422
    assert shop.digest() == before


@pytest.mark.parametrize("path", ["/jobs/J-2026-9999", "/references/77", "/instruments/x", "/x"])
def test_what_is_not_there_is_said_to_be_not_there(shop: Shop, path: str) -> None:
    answer = shop.signed_in("owner").get(path)
    assert answer.status_code == 404
    assert "Not found" in text_of(answer.text)


def test_an_api_crash_is_told_as_problem_details(
    shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*args: object) -> None:
        raise RuntimeError(SECRET)

    monkeypatch.setattr("app.records.session.Database.ping", fail)
    answer = shop.visitor().get(f"{ROOT}/health")
    assert SECRET not in answer.text
    if answer.status_code == 500:
        assert answer.headers["content-type"] == "application/problem+json"
