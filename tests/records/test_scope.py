"""One shop's rows are invisible to another, and a query without its shop is refused."""

from collections.abc import Callable
from pathlib import Path

import pytest
from sqlalchemy import bindparam, delete, func, select, text, update
from sqlalchemy.orm import Session, aliased

import app
from app.records.scope import UnscopedQuery, across_shops, for_given_shop, pin, scoped
from app.records.session import Database
from app.records.tables import Base, Customer, Machine, Shop, ShopRecord, Throttle
from tests.databases import NOW, new_shop


@pytest.fixture
def two_shops(database: Database) -> tuple[int, int]:
    """Two shops with a customer and a machine each; the ids of the rows are the shops' ids."""
    ids = (new_shop(database, "here"), new_shop(database, "elsewhere"))
    for shop_id in ids:
        with database.write() as session:
            customer = Customer(shop_id=shop_id, name=f"of {shop_id}", created_at=NOW)
            session.add(customer)
            session.flush()
            session.add(
                Machine(
                    shop_id=shop_id, customer_id=customer.id, make="Invented", model="One",
                    frame_number="X", created_at=NOW,
                )
            )  # fmt: skip
    return ids


def names(session: Session, shop_id: int) -> list[str]:
    return [row.name for row in session.scalars(scoped(session, shop_id, Customer))]


def test_each_shop_sees_its_own_rows(database: Database, two_shops: tuple[int, int]) -> None:
    for shop_id in two_shops:
        with database.read() as session:
            assert names(session, shop_id) == [f"of {shop_id}"]


def test_other_ways_of_asking_see_only_the_own_shop(
    database: Database, two_shops: tuple[int, int]
) -> None:
    here, elsewhere = two_shops
    with database.read() as session:
        pin(session, here)
        assert session.get(Customer, here) is not None
        assert session.get(Customer, elsewhere) is None
        assert session.get(Shop, elsewhere) is None
        assert session.scalar(select(func.count()).select_from(Customer)) == 1
        assert session.scalars(select(Customer.name)).all() == [f"of {here}"]
        other = aliased(Customer)
        assert session.scalars(select(other.name)).all() == [f"of {here}"]
        joined = select(Machine.id, other.name).join(other, other.id != Machine.customer_id)
        assert session.execute(joined).all() == []
        inside = select(Shop.id).where(Shop.id.in_(select(Customer.shop_id)))
        assert session.scalars(inside).all() == [here]


ASKING: dict[str, Callable[[Session], object]] = {
    "all rows": lambda session: session.scalars(select(Customer)).all(),
    "one column": lambda session: session.scalars(select(Customer.name)).all(),
    "a count": lambda session: session.scalar(select(func.count()).select_from(Customer)),
    "one row by id": lambda session: session.get(Customer, 1),
    "shops": lambda session: session.scalars(select(Shop)).all(),
    "words of SQL": lambda session: session.execute(text("SELECT * FROM customer")),
    "a table": lambda session: session.execute(select(Base.metadata.tables["customer"])),
    "deleting": lambda session: session.execute(delete(Throttle)),
}


@pytest.mark.parametrize("asking", ASKING)
def test_a_query_without_a_shop_is_refused(
    database: Database, two_shops: tuple[int, int], asking: str
) -> None:
    with database.write() as session, pytest.raises(UnscopedQuery):
        ASKING[asking](session)


@pytest.mark.parametrize("asking", ["words of SQL", "a table"])
def test_what_the_session_cannot_read_is_refused_even_with_a_shop(
    database: Database, two_shops: tuple[int, int], asking: str
) -> None:
    with database.write() as session:
        pin(session, two_shops[0])
        with pytest.raises(UnscopedQuery):
            ASKING[asking](session)


def test_a_session_does_not_change_shops(database: Database, two_shops: tuple[int, int]) -> None:
    here, elsewhere = two_shops
    with database.read() as session:
        scoped(session, here, Customer)
        with pytest.raises(UnscopedQuery):
            scoped(session, elsewhere, Customer)
    both = [Customer(shop_id=shop_id, name="new", created_at=NOW) for shop_id in two_shops]
    with pytest.raises(UnscopedQuery), database.write() as session:
        session.add_all(both)


def test_many_rows_at_once_are_changed_only_where_rows_may_be_deleted(
    database: Database, two_shops: tuple[int, int]
) -> None:
    here, elsewhere = two_shops
    for shop_id in two_shops:
        with database.write() as session:
            session.add(
                Throttle(
                    shop_id=shop_id, kind="account", subject_hash="", failures=1, last_failed_at=NOW
                )
            )  # fmt: skip
    with database.write() as session:
        pin(session, here)
        session.execute(delete(Throttle))
        with pytest.raises(UnscopedQuery):
            session.execute(update(Customer).values(name="all the same"))
    with database.read() as session:
        assert len(session.scalars(across_shops(Throttle)).all()) == 1
        assert session.scalars(across_shops(Throttle)).one().shop_id == elsewhere


def test_every_table_but_the_shop_carries_its_shop() -> None:
    models = [mapper.class_ for mapper in Base.registry.mappers]
    assert len(models) > 30
    assert [model for model in models if not issubclass(model, ShopRecord)] == [Shop]
    for table in Base.metadata.tables.values():
        owner = table.columns.get("shop_id")
        assert table.name == "shop" or (owner is not None and not owner.nullable)


def test_what_is_pointed_to_cannot_be_deleted_from_any_table() -> None:
    rules = {
        (key.parent.table.name, key.parent.name): key.ondelete
        for table in Base.metadata.tables.values()
        for key in table.foreign_keys
    }
    assert len(rules) > 90
    assert set(rules.values()) == {"RESTRICT"}


def test_a_statement_made_for_all_shops_answers_for_the_sessions_own(
    database: Database, two_shops: tuple[int, int]
) -> None:
    here, elsewhere = two_shops
    asked = for_given_shop(select(Customer.name).where(Customer.shop_id == bindparam("shop_id")))
    with database.read() as session:
        with pytest.raises(UnscopedQuery):
            session.execute(asked, {"shop_id": here})
        pin(session, here)
        assert session.scalars(asked, {"shop_id": here}).all() == [f"of {here}"]
        with pytest.raises(UnscopedQuery):
            session.execute(asked, {"shop_id": elsewhere})


def test_a_statement_that_compares_with_no_shop_is_not_made() -> None:
    with pytest.raises(UnscopedQuery):
        for_given_shop(select(Customer.name))


MAY_LOOK_ACROSS = {
    "scope.py": "where it is written",
    "sessions.py": "whose secret a cookie holds",
    "tablets.py": "which tablet a cookie names",
    "tokens.py": "whose token a program sends",
    "claim_access.py": "which job a link opens",
    "joining.py": "whether there is anybody yet",
    "people.py": "which shop this installation serves",
    "shop.py": "its name, before anybody is known",
}


def test_only_a_few_places_look_across_shops() -> None:
    files = list(Path(app.__path__[0]).rglob("*.py"))
    looking = {path.name for path in files if "across_shops" in path.read_text(encoding="utf-8")}
    assert looking == set(MAY_LOOK_ACROSS)
