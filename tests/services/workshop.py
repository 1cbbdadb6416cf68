"""An invented shop for tests: a database of its own, four people, a clock that moves on."""

import shutil
import sqlite3
from collections.abc import Callable, Iterator, Mapping
from contextlib import closing, contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any, TypeVar

from sqlalchemy.orm import Session

from app.records.scope import scoped
from app.records.session import Database
from app.records.tables import Person, PersonRole, Shop, ShopRecord
from app.services.permissions import Actor, Role
from tests.databases import migrate, open_at

T = TypeVar("T")

OPENING = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)
NAMES = {"desk": "Dora", "technician": "Tove", "inspector": "Ines", "owner": "Olof"}


class Workshop:
    """`do` writes, `see` reads; each acts as one of the four people and in one unit of work."""

    def __init__(self, file: Path) -> None:
        self.file = file
        self.database = open_at(f"sqlite:///{file}")
        self.now = OPENING
        with self.database.read() as session:
            self.people = dict(actors(session))

    def put_back(self, template: Path) -> None:
        """Everything as in the template again; the engine keeps what it has compiled."""
        with (
            closing(sqlite3.connect(template)) as source,
            closing(sqlite3.connect(self.file)) as target,
        ):
            source.backup(target)
        self.now = OPENING

    def do(self, function: Callable[..., T], role: str, *args: Any, **kwargs: Any) -> T:
        self.now += timedelta(minutes=1)
        with self.database.write() as session:
            return function(session, self.people[role], *args, now=self.now, **kwargs)

    def see(self, function: Callable[..., T], role: str, *args: Any, **kwargs: Any) -> T:
        with self.database.read() as session:
            return function(session, self.people[role], *args, **kwargs)

    def tamper(self, model: type[ShopRecord], identity: int, **changes: Any) -> None:
        """Changes a row behind the services' back, through the records' own session."""
        with self.database.write() as session:
            row = session.scalars(scoped(session, 1, model).where(model.id == identity)).one()
            for name, value in changes.items():
                setattr(row, name, value)

    @contextmanager
    def rows(self) -> Iterator[tuple[Session, Actor]]:
        """A reading session and the owner, to look at the tables themselves."""
        with self.database.read() as session:
            yield session, self.people["owner"]

    def counts(self) -> dict[str, int]:
        """How many rows each table holds."""
        with self.database.engine.connect() as connection:
            names = [
                row[0]
                for row in connection.exec_driver_sql(
                    "SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name"
                )
            ]
            return {
                name: connection.exec_driver_sql(f'SELECT count(*) FROM "{name}"').scalar_one()
                for name in names
            }


def make_template(file: Path) -> None:
    """A migrated database with one shop and four people, to be copied for each test."""
    migrate(file)
    database = Database(f"sqlite:///{file}")
    with database.write() as session:
        shop = Shop(name="Invented Workshop", created_at=OPENING)
        session.add(shop)
        session.flush()
        for role, name in NAMES.items():
            person = Person(
                shop_id=shop.id, sign_in_name=role, sign_in_key=role, name=name, created_at=OPENING
            )
            session.add(person)
            session.flush()
            session.add(PersonRole(shop_id=shop.id, person_id=person.id, role=role))
    database.close()


def copy_of(template: Path, file: Path) -> Workshop:
    shutil.copyfile(template, file)
    return Workshop(file)


def actors(session: Session) -> Mapping[str, Actor]:
    found: dict[str, Actor] = {}
    connection = session.connection()
    for row in connection.exec_driver_sql("SELECT id, shop_id, name, sign_in_key FROM person"):
        found[row.sign_in_key] = Actor(
            row.shop_id, row.name, frozenset({Role(row.sign_in_key)}), person_id=row.id
        )
    return found
