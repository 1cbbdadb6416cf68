"""The whole app with one token for each role, asked without a network."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.databases import Template
from tests.records.conftest import template
from tests.web.api.client import Api, opened

__all__ = ["template"]


@pytest.fixture(scope="module")
def shared_api(template: Template, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Api]:
    """One app for all tests of a module in which every request is refused."""
    folder = tmp_path_factory.mktemp("api")
    with template.copy(folder) as url:
        yield from opened(url, folder)


@pytest.fixture
def api(template: Template, tmp_path: Path) -> Iterator[Api]:
    with template.copy(tmp_path) as url:
        yield from opened(url, tmp_path)
