"""Rows written at once: in the shop, by sessions that may write, and only what may change."""

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from app.errors import Conflict
from app.records.permanence import PermanentRecord
from app.records.rows import add_row, change_row, set_now
from app.records.scope import UnscopedQuery, pin, scoped
from app.records.session import Database
from app.records.tables import Customer, Event, EventHead
from tests.databases import NOW, new_shop


def head_of(session: Session, shop_id: int) -> EventHead:
    return session.scalars(scoped(session, shop_id, EventHead)).one()


def a_head(shop_id: int, position: int = 1) -> EventHead:
    return EventHead(shop_id=shop_id, position=position, hash="a")


def test_a_row_is_there_at_once_with_its_id_and_after_the_commit(
    database: Database, shop_id: int
) -> None:
    with database.write() as session:
        head = a_head(shop_id)
        assert add_row(session, head) == head.id
        assert head not in session
        assert head_of(session, shop_id).position == 1
    with database.read() as session:
        assert head_of(session, shop_id).id == head.id


def test_what_is_added_is_gone_with_its_unit(database: Database, shop_id: int) -> None:
    def break_off(session: Session) -> None:
        add_row(session, a_head(shop_id))
        raise KeyError

    with pytest.raises(KeyError), database.write() as session:
        break_off(session)
    with database.read() as session:
        assert session.scalars(scoped(session, shop_id, EventHead)).all() == []


def test_defaults_are_filled_in_as_for_every_record(database: Database, shop_id: int) -> None:
    with database.write() as session:
        add_row(session, Customer(shop_id=shop_id, name="Kim", created_at=NOW))
        found = session.scalars(scoped(session, shop_id, Customer)).one()
        assert (found.name, found.created_at, found.version) == ("Kim", NOW, 1)


def test_a_session_that_reads_writes_no_row(database: Database, shop_id: int) -> None:
    with database.read() as session, pytest.raises(PermanentRecord):
        add_row(session, a_head(shop_id))
    with database.read() as session, pytest.raises(PermanentRecord):
        change_row(session, EventHead, shop_id, {"position": 1}, {"hash": "b"})


def test_no_row_of_another_shop(database: Database, shop_id: int) -> None:
    elsewhere = new_shop(database, "elsewhere")
    with database.write() as session:
        add_row(session, a_head(elsewhere))
    with database.write() as session:
        pin(session, shop_id)
        with pytest.raises(UnscopedQuery):
            add_row(session, a_head(elsewhere))
        with pytest.raises(UnscopedQuery):
            change_row(session, EventHead, elsewhere, {"position": 1}, {"hash": "b"})
        assert not change_row(session, EventHead, shop_id, {"position": 1}, {"hash": "b"})


def test_only_the_row_that_was_met_is_changed(database: Database, shop_id: int) -> None:
    with database.write() as session:
        add_row(session, a_head(shop_id, position=4))
        new = {"position": 5, "hash": "b"}
        assert not change_row(session, EventHead, shop_id, {"position": 3}, new)
        assert change_row(session, EventHead, shop_id, {"position": 4}, new)
        assert (head_of(session, shop_id).position, head_of(session, shop_id).hash) == (5, "b")


def test_what_is_permanent_stays(database: Database, shop_id: int) -> None:
    with database.write() as session, pytest.raises(PermanentRecord):
        change_row(session, Event, shop_id, {"position": 1}, {"what": "other"})


def test_a_version_moves_on_and_one_that_was_overtaken_is_a_conflict(
    database: Database, shop_id: int
) -> None:
    with database.write() as session:
        add_row(session, Customer(shop_id=shop_id, name="Kim", created_at=NOW))
        customer = session.scalars(scoped(session, shop_id, Customer)).one()
        set_now(session, customer, name="Kim Two")
        assert (customer.name, customer.version) == ("Kim Two", 2)
        assert customer not in session.dirty
        columns = Customer.__table__.c
        kept = session.connection().execute(select(columns.name, columns.version)).one()
        assert tuple(kept) == ("Kim Two", 2)
        change_row(session, Customer, shop_id, {"id": customer.id}, {"version": 7})
        with pytest.raises(Conflict):
            set_now(session, customer, name="Kim Three")
