"""An invented shop for each test, copied from one that was made once."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from app.records.session import Database
from tests.databases import Template
from tests.records.conftest import template
from tests.web.shop import Shop, open_shop

__all__ = ["template"]


@pytest.fixture
def shop(template: Template, tmp_path: Path) -> Iterator[Shop]:
    """A shop of this test alone."""
    with template.copy(tmp_path) as url:
        database = Database(url)
        yield open_shop(database, tmp_path)
        database.close()
