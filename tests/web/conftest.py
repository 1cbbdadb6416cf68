"""An invented shop for each test, copied from one that was furnished once."""

import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

from app.records.migrating import upgrade
from app.records.session import Database
from app.services.permissions import Actor
from tests.web.shop import Shop, furnish, open_shop


@dataclass(frozen=True)
class Furnished:
    """A database file with its people, to be copied."""

    file: Path
    people: dict[str, Actor]


@pytest.fixture(scope="session")
def furnished(tmp_path_factory: pytest.TempPathFactory) -> Furnished:
    """Made once: hashing and migrating are slow."""
    file = tmp_path_factory.mktemp("furnished") / "shop.sqlite3"
    upgrade(f"sqlite:///{file}")
    database = Database(f"sqlite:///{file}")
    people = furnish(database)
    database.close()
    return Furnished(file, people)


@pytest.fixture
def database(furnished: Furnished, tmp_path: Path) -> Iterator[Database]:
    """A copy of the furnished records."""
    file = tmp_path / "shop.sqlite3"
    shutil.copyfile(furnished.file, file)
    made = Database(f"sqlite:///{file}")
    yield made
    made.close()


@pytest.fixture
def shop(furnished: Furnished, database: Database, tmp_path: Path) -> Shop:
    """A shop of this test alone."""
    return open_shop(database, dict(furnished.people), tmp_path)
