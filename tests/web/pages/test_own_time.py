"""Pages tell days and times by the shop's own clock, wherever the machine stands."""

import os
import time
from collections.abc import Iterator

import pytest

from app.records.scope import scoped
from app.records.tables import Shop as ShopRow
from app.services import claims
from tests.web.shop import Shop, new_job, text_of


@pytest.fixture(autouse=True, params=["UTC", "America/Los_Angeles"])
def machine(request: pytest.FixtureRequest) -> Iterator[None]:
    """The machine's own zone, which is none of the shop's business."""
    before = os.environ.get("TZ")
    os.environ["TZ"] = request.param
    time.tzset()
    yield
    if before is None:
        del os.environ["TZ"]
    else:
        os.environ["TZ"] = before
    time.tzset()


@pytest.fixture
def abroad(shop: Shop) -> Shop:
    """A shop whose clock is 5 h 45 min ahead of UTC. It is 2 March, 09:00 UTC."""
    with shop.database.write() as session:
        session.scalars(
            scoped(session, shop.people["owner"], ShopRow)
        ).one().time_zone = "Asia/Kathmandu"
    return shop


def test_what_only_reads_and_what_writes_tell_the_shops_time(abroad: Shop) -> None:
    number = new_job(abroad)
    when = f"{abroad.clock['now']:%H:%M}"
    assert when == "09:00"
    desk = abroad.signed_in("desk")
    made = text_of(desk.post(f"/jobs/{number}/links", {"note": "Invented Mutual"}).text)
    assert "2 March 2026, 14:45" in made, "a page that a form answers with"
    assert "2 March 2026, 14:45" in text_of(desk.get(f"/jobs/{number}/links").text)
    assert "09:00" not in text_of(desk.get(f"/jobs/{number}").text)


def test_the_day_changes_with_the_shops_clock(abroad: Shop) -> None:
    """Half past eight in the evening by UTC is the next day in the shop."""
    number = new_job(abroad)
    abroad.later(hours=11, minutes=30)
    desk = abroad.signed_in("desk")
    form = {"words": "asked for the estimate", "call": "customer"}
    desk.post(f"/jobs/{number}/notes", form)
    assert "3 March 2026, 02:15" in text_of(desk.get(f"/jobs/{number}/notes").text)


def test_outsiders_and_refusals_are_told_the_shops_time(abroad: Shop) -> None:
    number = new_job(abroad)
    abroad.later(hours=11, minutes=30)
    with abroad.database.write() as session:
        desk, now = abroad.people["desk"], abroad.clock["now"]
        made = claims.create_link(session, desk, number, now, note="adjuster", valid_days=1)
    page = text_of(abroad.visitor().get(f"/claim/{made.token}").text)
    assert "This link opens until 4 March 2026" in page
    abroad.later(days=1)
    dead = abroad.visitor().get(f"/claim/{made.token}")
    assert dead.status_code == 410
    assert "his link ended on 4 March 2026, 02:15 UTC+05:45" in text_of(dead.text)
