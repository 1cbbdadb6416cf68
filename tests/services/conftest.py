"""A workshop for each test, put back to what was migrated once."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from app.records.session import Database
from app.services.issuing_queue import IssuingQueue
from app.services.order import Made
from tests.databases import Template, give_back, records_at
from tests.records.conftest import shop_id, template
from tests.services.certifying import Bench, Benches, make_benches
from tests.services.issuing_bench import queue_of
from tests.services.workshop import Workshop, copy_of, make_template

__all__ = ["shop_id", "template"]


@pytest.fixture
def database(template: Template, tmp_path: Path) -> Iterator[Database]:
    with template.copy(tmp_path) as url, records_at(url) as made:
        yield made


@pytest.fixture(scope="session")
def workshop_template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    file = tmp_path_factory.mktemp("workshop") / "template.sqlite"
    make_template(file)
    return file


@pytest.fixture(scope="session")
def benches(workshop_template: Path, tmp_path_factory: pytest.TempPathFactory) -> Benches:
    """Jobs to certify, to be copied for each test."""
    return make_benches(workshop_template, tmp_path_factory.mktemp("benches"))


@pytest.fixture(scope="session")
def one_workshop(
    workshop_template: Path, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Workshop]:
    shop = copy_of(workshop_template, tmp_path_factory.mktemp("workshop") / "workshop.sqlite")
    yield shop
    give_back(shop.database)


@pytest.fixture
def workshop(one_workshop: Workshop, workshop_template: Path) -> Workshop:
    """A workshop as it was on its first day."""
    one_workshop.put_back(workshop_template)
    return one_workshop


@pytest.fixture
def job(benches: Benches, tmp_path: Path) -> Iterator[Bench]:
    """Ready to be measured."""
    made = benches.copy(tmp_path, of="ready")
    yield made
    give_back(made.workshop.database)


@pytest.fixture
def done(benches: Benches, tmp_path: Path) -> Iterator[Bench]:
    """Measured bent, corrected, measured again and found within."""
    made = benches.copy(tmp_path)
    yield made
    give_back(made.workshop.database)


@pytest.fixture
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """Files that are not laid out: for tests of what happens round them."""
    monkeypatch.setattr(
        "app.services.press.Press.make",
        lambda press, order, beat=None: Made(b"%PDF " + order.data, None),
    )


@pytest.fixture
def queue(done: Bench, quick: None, monkeypatch: pytest.MonkeyPatch) -> Iterator[IssuingQueue]:
    """One whose files are made at once, when the test says so."""
    monkeypatch.setattr(IssuingQueue, "start", lambda queue: None)
    made = queue_of(done)
    yield made
    made.close()
