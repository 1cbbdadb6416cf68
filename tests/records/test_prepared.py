"""Statements handed to the driver: the same answers, errors and walls between shops."""

from pathlib import Path

import pytest
from sqlalchemy import Select, bindparam, insert, select, update
from sqlalchemy.exc import IntegrityError

from app.errors import Unavailable
from app.records.prepared import Prepared
from app.records.scope import UnscopedQuery, for_given_shop, pin, scoped
from app.records.session import Database
from app.records.tables import Customer, EventHead
from tests.databases import NOW, new_shop

TABLE = Customer.__table__
ASKED: Select[tuple[int, str, object, int]] = for_given_shop(
    select(TABLE.c.id, TABLE.c.name, TABLE.c.created_at, TABLE.c.version).where(
        TABLE.c.shop_id == bindparam("shop_id"), TABLE.c.version > 0
    )
)


@pytest.fixture
def customer(database: Database, shop_id: int) -> int:
    with database.write() as session:
        made = Customer(shop_id=shop_id, name="Kim", created_at=NOW)
        session.add(made)
        session.flush()
        return made.id


@pytest.mark.usefixtures("customer")
def test_a_select_gives_what_the_session_would(database: Database, shop_id: int) -> None:
    with database.read() as session:
        pin(session, shop_id)
        given = {"shop_id": shop_id}
        plain = Prepared(ASKED).asked(session, given)
        assert [tuple(row) for row in plain] == [
            tuple(row) for row in session.execute(ASKED, given).all()
        ]
        assert plain[0][2] == NOW


def test_a_select_sees_what_the_session_has_not_written_yet(
    database: Database, shop_id: int
) -> None:
    with database.write() as session:
        pin(session, shop_id)
        session.add(Customer(shop_id=shop_id, name="Bo", created_at=NOW))
        assert [row[1] for row in Prepared(ASKED).asked(session, {"shop_id": shop_id})] == ["Bo"]


def test_no_row_of_another_shop_or_of_none(database: Database, shop_id: int) -> None:
    elsewhere = new_shop(database, "elsewhere")
    with database.read() as session:
        with pytest.raises(UnscopedQuery):
            Prepared(ASKED).asked(session, {"shop_id": shop_id})
        pin(session, shop_id)
        with pytest.raises(UnscopedQuery):
            Prepared(ASKED).asked(session, {"shop_id": elsewhere})
        with pytest.raises(UnscopedQuery):
            Prepared(select(TABLE.c.name)).asked(session, {"shop_id": shop_id})


def test_rows_added_and_changed_are_counted(database: Database, shop_id: int) -> None:
    names = ("shop_id", "position", "hash")
    add = Prepared(insert(EventHead).values({name: bindparam(name) for name in names}))
    rename = Prepared(
        update(EventHead)
        .where(EventHead.position == bindparam("met"))
        .values(position=bindparam("position"))
    )
    with database.write() as session:
        made = add.added(session.connection(), {"shop_id": shop_id, "position": 4, "hash": "a"})
        head = session.scalars(scoped(session, shop_id, EventHead)).one()
        assert (head.id, head.position, head.hash) == (made, 4, "a")
        assert rename.changed(session.connection(), {"met": 4, "position": 5}) == 1
        assert rename.changed(session.connection(), {"met": 4, "position": 5}) == 0


def test_what_the_driver_refuses_is_told_as_by_every_other_statement(
    database: Database, customer: int
) -> None:
    rename = Prepared(
        update(Customer).where(TABLE.c.id == bindparam("met_id")).values(name=bindparam("name"))
    )
    with database.write() as session:
        with pytest.raises(IntegrityError, match="CHECK") as told:
            rename.changed(session.connection(), {"met_id": customer, "name": "x" * 301})
        assert "xxx" not in str(told.value), "what was given may be somebody's"
        assert rename.changed(session.connection(), {"met_id": customer, "name": "Bo"}) == 1


def test_records_that_were_not_migrated_are_told_as_such(tmp_path: Path) -> None:
    empty = Database(f"sqlite:///{tmp_path / 'empty.sqlite3'}")
    with pytest.raises(Unavailable, match="database_not_migrated"):
        ask_for_customers(empty)
    empty.close()


def ask_for_customers(database: Database) -> None:
    with database.read() as session:
        pin(session, 1)
        Prepared(ASKED).asked(session, {"shop_id": 1})
