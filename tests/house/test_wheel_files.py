"""The check of a built wheel sees what it is there to see; the wheel itself is built by .ci/run."""

import importlib.util
import sys
from types import ModuleType

import pytest

from tests.house.source_tree import ROOT

pytestmark = pytest.mark.checkout

TRACKED = ["app/errors.py", "README.md", *(f"{f}/a.txt" for f in ("migrations", "templates"))]
TRACKED += ["static/a.css", "seed_data/a.json", "tests/test_a.py"]
GOOD = ["app/errors.py", "app/_bundled/migrations/a.txt", "app/_bundled/templates/a.txt"]
GOOD += ["app/_bundled/static/a.css", "app/_bundled/seed_data/a.json"]
GOOD += ["jigbook-0.1.0.dist-info/METADATA"]


@pytest.fixture(scope="module")
def wheel_files() -> ModuleType:
    spec = importlib.util.spec_from_file_location("wheel_files", ROOT / ".ci/wheel_files.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


def test_a_wheel_of_just_the_tracked_files_passes(wheel_files: ModuleType) -> None:
    assert wheel_files.complaints(GOOD, TRACKED) == []


@pytest.mark.parametrize(
    ("inside", "word"),
    [
        ([*GOOD, "app/_bundled/seed_data/jigbook.sqlite3"], "database"),
        ([*GOOD, "app/_bundled/static/shop.pem"], "secret"),
        ([*GOOD, "tests/test_a.py"], "not tracked"),
        ([*GOOD, "app/__pycache__/errors.cpython-311.pyc"], "not tracked"),
        ([name for name in GOOD if "errors" not in name], "not in the wheel"),
        ([name for name in GOOD if "seed_data" not in name], "no file of seed_data/"),
    ],
)
def test_a_wheel_with_more_or_less_is_refused(
    wheel_files: ModuleType, inside: list[str], word: str
) -> None:
    assert any(word in line for line in wheel_files.complaints(inside, TRACKED))
