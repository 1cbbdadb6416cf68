"""What every room's tests may use."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

TESTS = Path(__file__).parent
PUBLISHED = TESTS / "published"
LONGEST = (
    "browser/test_every_page.py",
    "simulation/test_machines.py",
    "browser/test_main_road.py",
    "browser",
    "demonstration",
    "simulation",
    "services",
    "web",
    "documents",
    "cli",
)
"""Files and folders whose tests begin first: what begins last must not be what takes longest."""


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Long ones first; within a file and among all others the order stays."""
    items.sort(key=lambda item: place_of(item.path.relative_to(TESTS).as_posix()))


def place_of(path: str) -> int:
    """Where a file stands among the longest; after them if nowhere."""
    found = (at for at, one in enumerate(LONGEST) if path == one or path.startswith(f"{one}/"))
    return next(found, len(LONGEST))


@pytest.fixture(scope="session")
def published() -> Callable[[str, str], dict[str, Any]]:
    """One case of `tests/published/<file>.json`: its source, inputs and answers as printed."""

    def read(file: str, case: str) -> dict[str, Any]:
        found: dict[str, Any] = json.loads((PUBLISHED / f"{file}.json").read_text())[case]
        return found

    return read


@pytest.fixture(scope="session")
def printed() -> Callable[[str], Any]:
    """What agrees with a printed number: within half a unit of its last digit."""

    def as_printed(number: str) -> Any:
        places = len(number.partition(".")[2])
        return pytest.approx(float(number), rel=1e-12, abs=0.5000001 * 10.0**-places)

    return as_printed
