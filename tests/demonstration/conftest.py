"""A demonstration that was filled once, for tests that look at it."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path

import pytest

from app.demonstration.shop import Demonstration, fill
from app.errors import Problem, Unavailable
from app.records.migrating import upgrade
from app.records.session import Database
from app.services.passwords import Passwords
from app.services.permissions import Actor, command_line
from app.services.press import Press

QUICK = Passwords(time_cost=1, memory_kib=8, lanes=1)


@dataclass
class Filled:
    """The demonstration and the records that it lies in."""

    folder: Path
    now: datetime
    press: Press | None = None
    told: list[tuple[int, int]] = field(default_factory=list)

    def __post_init__(self) -> None:
        url = f"sqlite:///{self.folder / 'jigbook.sqlite3'}"
        upgrade(url)
        self.database = Database(url)
        self.made: Demonstration = fill(
            self.database, self.folder, self.now, self._tell, QUICK, self.press
        )

    def _tell(self, done: int, of: int) -> None:
        self.told.append((done, of))

    @property
    def actor(self) -> Actor:
        return command_line(1)


class NoPango(Press):
    """A press on a machine without Pango."""

    def problems_with(self, content: object, box: object) -> tuple[Problem, ...]:
        raise Unavailable("pdf_needs_pango")


@pytest.fixture(scope="session")
def demonstration(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Filled]:
    """Filled just now, as the command does it, certificates and all."""
    filled = Filled(tmp_path_factory.mktemp("demonstration"), datetime.now(UTC))
    yield filled
    filled.database.close()
