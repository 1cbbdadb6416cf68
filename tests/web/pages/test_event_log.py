"""The owner's page of the event log."""

from datetime import timedelta

import pytest
from sqlalchemy import update

from app.records.tables import Event
from app.services import customers
from app.services.audit import record
from app.services.event_log import MOST_LINES
from app.services.jobs import cancel
from app.wording import event_facts
from tests.databases import NOW
from tests.web.shop import Shop, measured_job, new_job, text_of

MOST_BYTES = 100_000


def told(shop: Shop, path: str) -> str:
    """What the owner reads there."""
    answer = shop.signed_in("boss").get(path)
    assert answer.status_code == 200
    return " ".join(text_of(answer.text).split())


def test_a_jobs_story_is_told_in_words_newest_first(shop: Shop) -> None:
    number = measured_job(shop)
    page = told(shop, f"/shop/events?job={number}")
    story = [
        "Measurement submitted: before the correction, outside the tolerances",
        "Visual check answered: cracked or bent suspension links, looked, nothing seen",
        "Instrument chosen: invented measuring arm",
        "Reference chosen:",
        "Machine checked in",
    ]
    places = [page.index(line) for line in story]
    assert places == sorted(places)
    assert shop.people["technician"].name in page
    assert "None" not in page


def test_every_value_of_a_jobs_events_has_a_label(shop: Shop) -> None:
    measured_job(shop)
    with shop.database.engine.connect() as connection:
        found = connection.exec_driver_sql(
            "SELECT DISTINCT key FROM event, json_each(event.public)"
            " UNION SELECT name FROM personal_value"
        ).scalars()
        assert set(found) - event_facts.LABELS.keys() == set()


def test_filters_stand_in_the_address_and_go_along_to_older_events(shop: Shop) -> None:
    number = measured_job(shop)
    boss = shop.signed_in("boss")
    with shop.database.write() as session:
        for _ in range(MOST_LINES + 1):
            record(session, shop.people["desk"], "job.noted", f"job:{number}", NOW)
    mark = shop.people["desk"].mark
    # A job's number may be typed without its letter.
    bare = number.removeprefix("J-")
    page = boss.get(f"/shop/events?job={bare}&person={mark}&day={NOW.date()}").text
    assert f'value="{number}"' in page
    assert f'<option value="{mark}" selected' in page
    assert page.count("Note written") == MOST_LINES
    older = page.partition("Pages of the log")[2].partition('href="')[2].partition('"')[0]
    rest = boss.get(older.replace("&amp;", "&")).text
    assert rest.count("Note written") == 1
    assert "Back to the newest" in rest
    nonsense = boss.get("/shop/events?person=king&day=2026-13-99&before=x&job=")
    assert nonsense.status_code == 200
    assert "Show all events" not in nonsense.text
    assert "No event fits this" in boss.get("/shop/events?job=J-2099-0001").text


def test_what_was_erased_is_said_to_be_erased(shop: Shop) -> None:
    number = new_job(shop)
    with shop.database.write() as session:
        cancel(session, shop.people["desk"], number, "no word from them", NOW, still_here=False)
    path = f"/shop/events?day={NOW.date()}"
    assert "Åse Invented" in told(shop, path)
    with shop.database.write() as session:
        customers.erase(session, shop.people["owner"], 1, "asked for it", NOW)
    page = told(shop, path)
    assert "Customer added: erased" in page
    assert "reason: erased" in page
    for word in ("Åse Invented", "no word from them"):
        assert word not in page


def test_a_page_stays_small_whatever_was_written(shop: Shop) -> None:
    with shop.database.write() as session:
        for _ in range(MOST_LINES):
            values = {f"key_{at}": '"<&>"' * 400 for at in range(12)}
            record(session, shop.people["desk"], "job.noted", "job:J-1", NOW, values)
    boss = shop.signed_in("boss")
    page = boss.get("/shop/events").text
    assert len(page.encode()) < MOST_BYTES
    assert "<&>" not in page
    position = len(shop.digest()["event"]) - 1
    assert '"<&>"' * 400 in text_of(boss.get(f"/shop/events/{position}").text)


def test_the_log_is_checked_only_when_that_is_asked_for(
    shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    new_job(shop)
    boss = shop.signed_in("boss")
    before = shop.digest()
    page = boss.get("/shop/events/check").text
    assert "The log is whole." in page
    assert shop.digest() == before
    head = before["event_head"][0][-1]
    assert f'<span class="once">{head}</span>' in page
    compared = boss.get(f"/shop/events/check?digest={head}").text
    assert "Everything up to it is as it was" in compared
    monkeypatch.setattr("app.services.event_log.verify", None)
    assert boss.get("/shop/events").status_code == 200


def test_a_broken_log_is_told_with_its_places(shop: Shop) -> None:
    new_job(shop)
    with shop.database.engine.begin() as connection:
        connection.execute(
            update(Event).where(Event.position == 2).values(at=NOW + timedelta(days=1))
        )
    page = shop.signed_in("boss").get("/shop/events/check?digest=abc").text
    assert "The log is broken." in page
    assert '<a href="/shop/events/2">event 2 is not as it was written</a>' in page
    assert "No event of this log has the noted digest" in page


def test_owners_find_the_log_where_they_look(shop: Shop) -> None:
    number = new_job(shop)
    boss = shop.signed_in("boss")
    person = shop.people["desk"].person_id
    for path, link in (
        ("/shop", "/shop/events"),
        ("/shop", "/shop/tokens"),
        ("/people", "/shop/tokens"),
        (f"/people/{person}", f"/shop/events?person=person%3A{person}"),
        (f"/jobs/{number}", f"/shop/events?job={number}"),
    ):
        assert f'href="{link}"' in boss.get(path).text
    assert "/shop/events" not in shop.signed_in("desk").get(f"/jobs/{number}").text
