"""An invented shop for each test, copied from one that was furnished once."""

import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

from app.records.session import Database
from app.services.permissions import Actor
from tests.databases import migrate, records_at
from tests.web.shop import Shop, close_press, furnish, moved_in, open_shop


@dataclass(frozen=True)
class Furnished:
    """A database file with its people, to be copied."""

    file: Path
    people: dict[str, Actor]


@pytest.fixture(scope="session")
def furnished(tmp_path_factory: pytest.TempPathFactory) -> Furnished:
    """Made once: hashing and migrating are slow."""
    file = tmp_path_factory.mktemp("furnished") / "shop.sqlite3"
    migrate(file)
    database = Database(f"sqlite:///{file}")
    people = furnish(database)
    database.close()
    return Furnished(file, people)


@pytest.fixture
def database(furnished: Furnished, tmp_path: Path) -> Iterator[Database]:
    """A copy of the furnished records."""
    file = tmp_path / "shop.sqlite3"
    shutil.copyfile(furnished.file, file)
    with records_at(f"sqlite:///{file}") as made:
        yield made


@pytest.fixture(scope="session")
def first_shop(furnished: Furnished, tmp_path_factory: pytest.TempPathFactory) -> Shop:
    """The app that all tests of this process use, each on its own records."""
    folder = tmp_path_factory.mktemp("first")
    database = Database(f"sqlite:///{furnished.file}")
    return open_shop(database, furnished.people, folder)


@pytest.fixture
def shop(first_shop: Shop, database: Database, tmp_path: Path) -> Iterator[Shop]:
    """A shop of this test alone."""
    yield moved_in(first_shop, database, tmp_path)
    close_press(first_shop)
