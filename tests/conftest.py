"""What every room's tests may use."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

PUBLISHED = Path(__file__).parent / "published"


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
