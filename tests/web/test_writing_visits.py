"""A form that changes something: who may not come in begins nothing, whatever was sent."""

import pytest

from app.web.forms import MOST_TYPED
from app.web.routes import ROUTES
from app.web.writing_visits import admit_writing
from tests.databases import statements_of
from tests.web.pages.taking import put
from tests.web.shop import Shop, Visitor, ready_job

MOST_ASKED = 3
"""How the draft stands, whether the request came before, the newest event."""
CHANGED = 6
"""The point, the draft, what is kept beside it, the act, the event, the newest event."""
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
    with statements_of(shop.database) as said:
        status = visitor.ask("POST", path, data=form, headers={"Origin": visitor.base}).status_code
    return status, [one for one in said if one.startswith("BEGIN")]


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


def test_a_reading_is_one_transaction_that_writes_with_few_statements(
    shop: Shop, place: str
) -> None:
    technician = shop.signed_in("technician")
    draft = place.rpartition("/steps/")[0]
    put(technician, draft, "pivot.left", {"x": "1", "y": "2", "z": "3"})
    with statements_of(shop.database) as said:
        done = put(technician, draft, "pivot.right", {"x": "1", "y": "202", "z": "3"})
    assert done.status_code == 303
    assert (said.count("BEGIN IMMEDIATE"), said.count("COMMIT")) == (1, 1)
    writes = said[said.index("BEGIN IMMEDIATE") : said.index("COMMIT")]
    asked = [one for one in writes if one.startswith("SELECT")]
    changed = [one for one in writes if one.startswith(("INSERT", "UPDATE"))]
    assert len(asked) <= MOST_ASKED
    assert len(changed) == CHANGED


def test_what_the_framework_must_make_is_left_to_it() -> None:
    def with_records(session: "object") -> None: ...

    assert admit_writing("drafts.write", with_records) is None
    assert "take_step" in ROUTES
