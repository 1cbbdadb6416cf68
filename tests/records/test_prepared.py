"""Statements handed to the driver: the same answers, errors and walls between shops."""

from pathlib import Path

import pytest
from sqlalchemy import Select, bindparam, insert, select, update
from sqlalchemy.exc import IntegrityError

from app.errors import Unavailable
from app.records.prepared import CONNECTION, Prepared, connection_of
from app.records.scope import UnscopedQuery, for_given_shop, pin, scoped
from app.records.session import Database, after_commit
from app.records.tables import Customer, EventHead, Shop
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
        made = add.added(session, {"shop_id": shop_id, "position": 4, "hash": "a"})
        head = session.scalars(scoped(session, shop_id, EventHead)).one()
        assert (head.id, head.position, head.hash) == (made, 4, "a")
        assert rename.changed(session, {"met": 4, "position": 5}) == 1
        assert rename.changed(session, {"met": 4, "position": 5}) == 0


def test_what_the_driver_refuses_is_told_as_by_every_other_statement(
    database: Database, customer: int
) -> None:
    rename = Prepared(
        update(Customer).where(TABLE.c.id == bindparam("met_id")).values(name=bindparam("name"))
    )
    with database.write() as session:
        with pytest.raises(IntegrityError, match="CHECK") as told:
            rename.changed(session, {"met_id": customer, "name": "x" * 301})
        assert "xxx" not in str(told.value), "what was given may be somebody's"
        assert rename.changed(session, {"met_id": customer, "name": "Bo"}) == 1


def test_records_that_were_not_migrated_are_told_as_such(tmp_path: Path) -> None:
    empty = Database(f"sqlite:///{tmp_path / 'empty.sqlite3'}")
    with pytest.raises(Unavailable, match="database_not_migrated"):
        ask_for_customers(empty)
    empty.close()


def ask_for_customers(database: Database) -> None:
    with database.read() as session:
        pin(session, 1)
        Prepared(ASKED).asked(session, {"shop_id": 1})


@pytest.mark.usefixtures("customer")
def test_a_session_has_its_connection_at_hand_only_while_its_transaction_lasts(
    database: Database, shop_id: int
) -> None:
    with database.read() as session:
        pin(session, shop_id)
        assert CONNECTION not in session.info
        first = connection_of(session)
        assert connection_of(session) is first
        session.rollback()
        assert CONNECTION not in session.info
        assert len(Prepared(ASKED).asked(session, {"shop_id": shop_id})) == 1
        assert connection_of(session) is session.connection()
        assert connection_of(session) is not first


def test_alone_is_asked_only_what_says_that_it_looks_at_all_shops(
    database: Database, shop_id: int
) -> None:
    names = select(Shop.__table__.c.id)
    everywhere = Prepared(names.execution_options(across_shops=True))
    assert [tuple(row) for row in database.asked(everywhere, {})] == [(shop_id,)]
    for fewer in (names, ASKED):
        with pytest.raises(UnscopedQuery):
            database.asked(Prepared(fewer), {"shop_id": shop_id})


def test_what_waits_for_a_commit_is_done_once_and_not_without_it(
    database: Database, shop_id: int
) -> None:
    done: list[str] = []

    def write(name: str, *, fails: bool) -> None:
        with database.write() as session:
            after_commit(session, lambda: done.append(name))
            pin(session, shop_id)
            session.add(Customer(shop_id=shop_id, name=name, created_at=NOW))
            session.flush()
            assert done == ([] if name == "Kim" else ["Kim"])
            if fails:
                raise KeyError(name)

    write("Kim", fails=False)
    assert done == ["Kim"]
    with pytest.raises(KeyError):
        write("Bo", fails=True)
    assert done == ["Kim"]
