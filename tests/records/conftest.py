"""A database of its own for each test."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from app.records.session import Database
from tests.databases import Template, new_shop


@pytest.fixture(scope="session")
def template() -> Iterator[Template]:
    made = Template()
    yield made
    made.close()


@pytest.fixture
def database(template: Template, tmp_path: Path) -> Iterator[Database]:
    with template.copy(tmp_path) as url:
        made = Database(url)
        yield made
        made.close()


@pytest.fixture
def shop_id(database: Database) -> int:
    return new_shop(database)
