"""The event log: any change of it is noticed, and erasing a person's values is none."""

import json
from typing import Any

import pytest
from sqlalchemy import Integer, Table, create_engine, delete, insert, select, update

from app.records.columns import UtcDateTime
from app.records.session import Database
from app.records.tables import Base
from app.services.audit import erase, record, record_as
from app.services.audit_check import ChainReport, verify
from app.services.permissions import Actor, Role
from tests.databases import NOW, actor_with, new_shop
from tests.services.staff import later

TABLES = {name: Base.metadata.tables[name] for name in ("event", "event_head", "personal_value")}
CHECKED = [
    (name, column.name)
    for name, table in TABLES.items()
    for column in table.columns
    # The number of a row itself says nothing; what points to an event is checked.
    if column.name != "id"
]


@pytest.fixture
def actor(shop_id: int) -> Actor:
    return actor_with(shop_id, Role.OWNER, person_id=3)


@pytest.fixture
def log(database: Database, actor: Actor) -> Database:
    """Five events, three of them with personal values, one of which is erased."""
    with database.write() as session:
        record(session, actor, "job.checked_in", "job:J-2026-0001", NOW, {"odometer": 12_000},
               {"name": "Kim Ælg", "phone": "(0123) 45"}, about="customer:1")  # fmt: skip
        record(session, actor, "job.noted", "job:J-2026-0001", later(hours=1), {"list": [1, None]})
        record(session, actor, "customer.added", "customer:2", later(hours=2), {}, {"name": "Bo"})
        record_as(session, actor, "nobody", "person.password_wrong", "person:3", later(hours=3))
        record(session, actor, "customer.added", "customer:1", later(hours=4), {}, {"name": "Kim"})
    with database.write() as session:
        assert erase(session, actor, "customer:1", later(days=1)) == 3
    return database


def report(database: Database, actor: Actor) -> ChainReport:
    with database.read() as session:
        return verify(session, actor)


def tamper(database: Database, *statements: Any) -> None:
    """Change the tables behind the program's back, without any of its guards."""
    engine = create_engine(database.url)
    with engine.begin() as connection:
        for statement in statements:
            connection.execute(statement)
    engine.dispose()


def rows(database: Database, table: Table) -> list[dict[str, Any]]:
    with database.engine.connect() as connection:
        found = connection.execute(select(table).order_by(table.c.id))
        return [dict(row) for row in found.mappings()]


def test_an_untouched_log_is_whole(log: Database, actor: Actor) -> None:
    found = report(log, actor)
    assert found.whole
    assert (found.events, found.erased_values) == (6, 3)
    assert found.head == rows(log, TABLES["event"])[-1]["hash"]


def test_an_empty_log_is_whole(database: Database, actor: Actor) -> None:
    assert report(database, actor).whole


def test_personal_values_stand_beside_the_log_and_not_in_it(log: Database) -> None:
    written = json.dumps(rows(log, TABLES["event"]), default=str, ensure_ascii=False)
    assert "job.checked_in" in written
    assert all(word not in written for word in ("Kim", '"Bo', "(0123)"))
    values = {row["about"]: row["value"] for row in rows(log, TABLES["personal_value"])}
    assert values == {"customer:1": None, "customer:2": '"Bo"'}


def test_erasing_empties_the_values_of_one_person_and_says_so(log: Database) -> None:
    kept = [row for row in rows(log, TABLES["personal_value"]) if row["erased_at"] is None]
    assert [row["about"] for row in kept] == ["customer:2"]
    erased = [row for row in rows(log, TABLES["personal_value"]) if row["erased_at"] is not None]
    assert [(row["value"], row["salt"]) for row in erased] == [(None, None)] * 3
    last = rows(log, TABLES["event"])[-1]
    assert (last["what"], last["subject"]) == ("personal_values.erased", "customer:1")
    assert json.loads(last["public"]) == {"values": 3}


def other_value(table: Table, name: str, value: Any) -> Any:
    column = table.columns[name]
    if isinstance(column.type, UtcDateTime):
        return later(days=300) if value is None else value.replace(microsecond=1)
    if isinstance(column.type, Integer):
        return value + 1
    return "x" if value is None else value + "x"


@pytest.mark.parametrize(("table", "column"), CHECKED)
def test_any_field_of_any_row_that_was_changed_is_noticed(
    log: Database, actor: Actor, table: str, column: str
) -> None:
    new_shop(log, "elsewhere")
    target = TABLES[table]
    originals = rows(log, target)
    assert len(originals) == {"event": 6, "event_head": 1, "personal_value": 4}[table]
    for old in originals:
        this = update(target).where(target.c.id == old["id"])
        new = other_value(target, column, old[column])
        if (table, column) in (("event", "position"), ("personal_value", "event_id")):
            new = 900 + old["position"] if column == "position" else free_event(log, old)
        tamper(log, this.values({column: new}))
        assert rows(log, target) != originals
        assert not report(log, actor).whole, (old, new)
        tamper(log, this.values({column: old[column]}))
    assert report(log, actor).whole


def free_event(log: Database, value: dict[str, Any]) -> int:
    """An event that has no personal value of this name."""
    taken = {row["event_id"] for row in rows(log, TABLES["personal_value"])}
    return int(next(row["id"] for row in rows(log, TABLES["event"]) if row["id"] not in taken))


@pytest.mark.parametrize("position", range(1, 7))
def test_a_lost_event_is_noticed_at_its_place(log: Database, actor: Actor, position: int) -> None:
    event, value = TABLES["event"], TABLES["personal_value"]
    ids = select(event.c.id).where(event.c.position == position)
    tamper(
        log,
        delete(value).where(value.c.event_id.in_(ids)),
        delete(event).where(event.c.position == position),
    )
    assert report(log, actor).breaks[0].position == position


def test_a_lost_end_of_the_chain_is_noticed(log: Database, actor: Actor) -> None:
    tamper(log, delete(TABLES["event_head"]))
    assert [fault.code for fault in report(log, actor).breaks] == ["end_missing"]


def test_two_events_that_changed_places_are_noticed(log: Database, actor: Actor) -> None:
    event = TABLES["event"]

    def move(old: int, new: int) -> Any:
        return update(event).where(event.c.position == old).values(position=new)

    tamper(log, move(2, 99), move(4, 2), move(99, 4))
    assert {fault.code for fault in report(log, actor).breaks} >= {"altered"}


def test_an_event_slipped_in_is_noticed(log: Database, actor: Actor) -> None:
    event = TABLES["event"]
    forged = {**rows(log, event)[0], "position": 7, "what": "hold.closed"}
    del forged["id"]
    tamper(log, insert(event).values(forged))
    assert not report(log, actor).whole


def test_a_lost_personal_value_and_a_silent_erasing_are_noticed(
    log: Database, actor: Actor
) -> None:
    value = TABLES["personal_value"]
    tamper(
        log,
        update(value).where(value.c.about == "customer:2")
        .values(value=None, salt=None, erased_at=NOW),
    )  # fmt: skip
    assert [fault.code for fault in report(log, actor).breaks] == ["personal_erased_unlogged"]
    tamper(log, delete(value).where(value.c.about == "customer:2"))
    assert [fault.code for fault in report(log, actor).breaks] == ["personal_missing"]


def test_rows_that_cannot_be_read_any_more_are_a_break_and_not_a_crash(
    log: Database, actor: Actor
) -> None:
    if log.file is None:
        return
    with log.engine.begin() as connection:
        connection.exec_driver_sql("UPDATE event SET at = 'yesterday' WHERE position = 2")
        connection.exec_driver_sql("UPDATE event SET personal = '[' WHERE position = 3")
        connection.exec_driver_sql(
            "UPDATE personal_value SET erased_at = 'x' WHERE about = 'customer:2'"
        )
    found = report(log, actor)
    assert {fault.position for fault in found.breaks} >= {2, 3}
    assert found.events == 6


def test_an_event_is_part_of_the_unit_that_it_tells_of(database: Database, actor: Actor) -> None:
    def fail() -> None:
        with database.write() as session:
            record(session, actor, "job.noted", "job:1", NOW, personal={"a": "b"})
            raise LookupError

    with pytest.raises(LookupError):
        fail()
    assert report(database, actor).events == 0


def test_each_shop_has_a_log_of_its_own(log: Database, actor: Actor) -> None:
    elsewhere = actor_with(new_shop(log, "elsewhere"), Role.OWNER)
    with log.write() as session:
        record(session, elsewhere, "job.noted", "job:1", NOW)
    assert report(log, elsewhere).events == 1
    assert report(log, actor).events == 6
    assert report(log, actor).whole


def test_what_json_does_not_know_is_refused(database: Database, actor: Actor) -> None:
    with pytest.raises(ValueError, match="JSON"), database.write() as session:
        record(session, actor, "job.noted", "job:1", NOW, {"x": float("nan")})
