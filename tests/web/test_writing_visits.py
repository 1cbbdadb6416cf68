"""A form that changes something: who may not come in begins nothing, whatever was sent."""

import pytest
from sqlalchemy import event

from app.web.routes import ROUTES
from app.web.writing_visits import MOST_TYPED, admit_writing
from tests.web.pages.taking import put
from tests.web.shop import Shop, Visitor, ready_job

UNREADABLE = {"readings.0.x": "\x07"}


@pytest.fixture
def place(shop: Shop) -> str:
    made: str = (
        shop.signed_in("technician")
        .post(f"/jobs/{ready_job(shop)}/drafts", {"phase": "before"})
        .headers["location"]
    )
    return f"{made}/steps/pivot.left"


def begun_by(
    shop: Shop, visitor: Visitor, path: str, form: dict[str, str]
) -> tuple[int, list[str]]:
    """The status, and how each transaction began."""
    said: list[str] = []

    def note(_c: object, _k: object, statement: str, *_rest: object) -> None:
        if statement.startswith("BEGIN"):
            said.append(statement)

    event.listen(shop.database.engine, "before_cursor_execute", note)
    try:
        status = visitor.ask("POST", path, data=form, headers={"Origin": visitor.base}).status_code
    finally:
        event.remove(shop.database.engine, "before_cursor_execute", note)
    return status, said


@pytest.mark.parametrize("size", [10, MOST_TYPED + 1], ids=["short", "long"])
@pytest.mark.parametrize(("name", "status"), [(None, 401), ("desk", 403), ("technician", 403)])
def test_nobody_begins_to_write_who_may_not(
    shop: Shop, place: str, name: str | None, status: int, size: int
) -> None:
    """The technician may, but the form is not of their session."""
    visitor = shop.signed_in(name) if name else shop.visitor()
    form = {"form_token": "0" * 64, "table": "1" * size}
    met, begun = begun_by(shop, visitor, place, form)
    assert met == status
    assert "BEGIN IMMEDIATE" not in begun


def test_a_form_that_cannot_be_read_is_told_to_nobody_who_may_not(shop: Shop, place: str) -> None:
    assert begun_by(shop, shop.visitor(), place, UNREADABLE)[0] == 401
    assert begun_by(shop, shop.signed_in("desk"), place, UNREADABLE)[0] == 403
    assert begun_by(shop, shop.signed_in("technician"), place, UNREADABLE)[0] == 422


def test_a_reading_is_one_transaction_that_writes(shop: Shop, place: str) -> None:
    technician = shop.signed_in("technician")
    begun: list[str] = []

    def note(_c: object, _k: object, statement: str, *_rest: object) -> None:
        begun.append(statement)

    event.listen(shop.database.engine, "before_cursor_execute", note)
    put(technician, place.rpartition("/steps/")[0], "pivot.left", {"x": "1", "y": "2", "z": "3"})
    event.remove(shop.database.engine, "before_cursor_execute", note)
    assert begun.count("BEGIN IMMEDIATE") == 1


def test_what_the_framework_must_make_is_left_to_it() -> None:
    def with_records(session: "object") -> None: ...

    assert admit_writing("drafts.write", with_records) is None
    assert "take_step" in ROUTES
