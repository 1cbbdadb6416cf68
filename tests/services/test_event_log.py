"""The event log as the owner reads it: filters, pages, what was erased, what does not hold."""

from datetime import date, timedelta

import pytest
from sqlalchemy import delete, update

from app.errors import NotAllowed, NotFound
from app.records.session import Database
from app.records.tables import Event, Person, PersonalValue, Shop
from app.schemas.customer import CustomerIn
from app.services import event_log
from app.services.audit import erase, record, record_as
from app.services.customers import create
from app.services.event_log import MOST_LINES, Asked, Checked, EventPage
from app.services.permissions import Actor, Role
from app.services.tokens import create_token
from tests.databases import NOW, actor_with
from tests.services.staff import later

NUMBER = "J-2026-0001"


@pytest.fixture
def owner(shop_id: int) -> Actor:
    return actor_with(shop_id, Role.OWNER, person_id=3)


@pytest.fixture
def log(database: Database, owner: Actor) -> Database:
    """Six events on two days, two of them with personal values."""
    with database.write() as session:
        session.add(
            Person(
                id=3, shop_id=owner.shop_id, sign_in_name="olof", sign_in_key="olof",
                name="Olof Invented", created_at=NOW,
            )
        )  # fmt: skip
        create(session, owner, CustomerIn(name="Kim Ælg", phone="(0123) 45"), NOW)
        record(session, owner, "job.checked_in", f"job:{NUMBER}", later(hours=1), {"customer": 1},
               {"account": "slid"}, about="customer:1")  # fmt: skip
        record(session, owner, "job.noted", f"job:{NUMBER}", later(hours=2))
        made = create_token(session, owner, "arm 2", Role.TECHNICIAN, later(days=1))
        program = Actor(owner.shop_id, "arm 2", frozenset(), token_id=made.view.id)
        record(session, program, "survey.submitted", "job:J-2026-0002", later(days=1))
        record_as(session, owner, "nobody", "person.password_wrong", "person:3", later(days=1))
    return database


def listed(log: Database, owner: Actor, before: int | None = None, **asked: object) -> EventPage:
    with log.read() as session:
        return event_log.listing(session, owner, Asked(**asked), before)  # type: ignore[arg-type]


def codes(found: EventPage) -> list[str]:
    return [one.what for one in found.events]


def checked(log: Database, owner: Actor, noted: str = "") -> Checked:
    with log.read() as session:
        return event_log.check(session, owner, noted)


def test_the_newest_stand_first_and_names_are_told_by_mark(log: Database, owner: Actor) -> None:
    found = listed(log, owner)
    assert [one.position for one in found.events] == [6, 5, 4, 3, 2, 1]
    assert not found.older
    assert found.names["token:1"] == "arm 2"
    assert found.names["person:3"] == "Olof Invented"
    assert found.names["customer:1"] == "Kim Ælg"
    assert found.events[4].job == NUMBER
    (fact,) = found.events[4].personal
    assert (fact.name, fact.state, fact.value) == ("account", "kept", "slid")


def test_what_was_erased_is_told_as_erased_and_shown_nowhere(log: Database, owner: Actor) -> None:
    with log.write() as session:
        erase(session, owner, "customer:1", later(days=2))
    found = listed(log, owner)
    facts = [fact for one in found.events for fact in one.personal]
    assert [(fact.state, fact.value) for fact in facts] == [("erased", None)] * 3
    assert "slid" not in str(found.events)


def test_job_person_and_day_filter_the_log(log: Database, owner: Actor) -> None:
    assert codes(listed(log, owner, job=NUMBER)) == ["job.noted", "job.checked_in"]
    assert codes(listed(log, owner, job="J-2026-0009")) == []
    assert codes(listed(log, owner, person="token:1")) == ["survey.submitted", "token.created"]
    about_sign_in = listed(log, owner, person="person:3")
    assert codes(about_sign_in)[0] == "person.password_wrong"
    assert len(about_sign_in.events) == 5
    both = listed(log, owner, person="person:3", job=NUMBER, day=NOW.date())
    assert codes(both) == ["job.noted", "job.checked_in"]
    assert codes(listed(log, owner, day=date(2020, 1, 1))) == []


def test_a_day_is_that_of_the_shops_clock(log: Database, owner: Actor) -> None:
    """Kiritimati is 14 hours ahead of UTC: the first event falls on its 2 March, 23:00."""
    days = (NOW.date(), NOW.date() + timedelta(days=1))
    assert [len(listed(log, owner, day=one).events) for one in days] == [3, 3]
    with log.engine.begin() as connection:
        connection.execute(update(Shop).values(time_zone="Pacific/Kiritimati"))
    assert [len(listed(log, owner, day=one).events) for one in days] == [1, 5]


def test_pages_follow_each_other_without_gap_and_repetition(log: Database, owner: Actor) -> None:
    with log.write() as session:
        for hour in range(MOST_LINES):
            record(session, owner, "job.noted", f"job:{NUMBER}", later(days=3, hours=hour))
    first = listed(log, owner)
    assert (len(first.events), first.older) == (MOST_LINES, True)
    rest = listed(log, owner, first.events[-1].position)
    assert not rest.older
    positions = [one.position for one in (*first.events, *rest.events)]
    assert positions == list(range(MOST_LINES + 6, 0, -1))
    assert listed(log, owner, 10**11 - 1).events == first.events


def test_a_noted_digest_shows_what_stands_since(log: Database, owner: Actor) -> None:
    noted = listed(log, owner).events[2].digest
    found = checked(log, owner, f" {noted[:32]} {noted[32:].upper()} ")
    assert found.report.whole
    assert found.noted is not None
    assert (found.noted.position, found.noted_stands) == (4, True)
    assert checked(log, owner, "0" * 64).noted is None
    for changed, stands in ((6, True), (2, False)):
        with log.engine.begin() as connection:
            connection.execute(
                update(Event).where(Event.position == changed).values(what="job.lost")
            )
        found = checked(log, owner, noted)
        assert not found.report.whole
        assert found.noted_stands is stands


def test_a_log_that_does_not_hold_is_shown_and_no_crash(log: Database, owner: Actor) -> None:
    with log.engine.begin() as connection:
        connection.execute(delete(PersonalValue))
        connection.exec_driver_sql("UPDATE event SET public = '[' WHERE position = 2")
    assert {fact.state for one in listed(log, owner).events for fact in one.personal} == {"missing"}
    if log.file is not None:
        with log.engine.begin() as connection:
            connection.exec_driver_sql("UPDATE event SET at = 'yesterday' WHERE position = 3")
        found = listed(log, owner)
        assert [one.at is None for one in found.events] == [False] * 3 + [True] + [False] * 2


def test_one_event_is_found_by_its_position(log: Database, owner: Actor) -> None:
    with log.read() as session:
        assert codes(event_log.one(session, owner, 2)) == ["job.checked_in"]
        for position in (0, 7, 10**12):
            with pytest.raises(NotFound, match="no_such_event"):
                event_log.one(session, owner, position)


def test_only_an_owner_reads_the_log(log: Database, owner: Actor) -> None:
    other = actor_with(owner.shop_id, Role.DESK, Role.TECHNICIAN, Role.INSPECTOR)
    with log.read() as session:
        for deed in (
            lambda: event_log.listing(session, other, Asked()),
            lambda: event_log.one(session, other, 1),
            lambda: event_log.check(session, other),
            lambda: event_log.actors(session, other),
        ):
            with pytest.raises(NotAllowed):
                deed()
