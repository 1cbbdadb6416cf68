"""No tracked file names a package registry's host, and none knows the machine it was written on."""

import re
import tomllib

import pytest

from app.checkout import PINS
from tests.house.source_tree import ROOT, TESTS, shown, tracked_files

pytestmark = pytest.mark.checkout

# Put together here, so that this file does not name what it looks for.
REGISTRY_HOSTS = tuple(
    ".".join(parts)
    for parts in [
        ("pypi", "org"),
        ("pythonhosted", "org"),
        ("npmjs", "org"),
        ("npmjs", "com"),
        ("deb", "debian", "org"),
    ]
)
MACHINE_PATH = re.compile(r"(?<![\w.$}/-])/(work|tmp|root|home|opt|Users)/")
PIN = re.compile(r"^([a-z0-9.-]+)==(\S+)( ;.*)? \\$", re.MULTILINE)


def texts() -> list[tuple[str, str]]:
    """Name and text of every tracked text file."""
    found = []
    for path in tracked_files():
        try:
            found.append((shown(path), path.read_text(encoding="utf-8")))
        except UnicodeDecodeError:
            continue
    return found


def test_pins_name_no_address_and_no_path() -> None:
    for path in PINS.values():
        text = path.read_text(encoding="utf-8")
        assert "://" not in text
        assert "@ " not in text
        options = [line for line in text.splitlines() if line.startswith("-")]
        assert options == []


def test_every_pin_has_hashes() -> None:
    for path in PINS.values():
        entries = re.split(r"\n(?=\S)", path.read_text(encoding="utf-8").strip())
        assert len(entries) > 50
        bare = [entry.splitlines()[0] for entry in entries if "--hash=sha256:" not in entry]
        assert bare == []


def pins(purpose: str) -> dict[tuple[str, str], str]:
    text = PINS[purpose].read_text(encoding="utf-8")
    return {(name, marker): version for name, version, marker in PIN.findall(text)}


def test_the_test_environment_holds_what_running_needs_at_the_same_versions() -> None:
    """The set-up adds the tests' packages to an environment that may be in use."""
    to_run, to_test = pins("run"), pins("test")
    assert {key: to_test.get(key) for key in to_run} == to_run


def test_every_dependency_is_pinned() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    extras = project["optional-dependencies"]
    for purpose, wanted in [
        ("run", project["dependencies"] + extras["checkout"]),
        ("test", project["dependencies"] + extras["test"]),
    ]:
        names = {re.split(r"[\[<>=!~ ]", name)[0].lower() for name in wanted}
        pinned = {name for name, _ in pins(purpose)}
        assert names - pinned == set()


def test_no_tracked_file_names_a_registry() -> None:
    found = [(name, host) for name, text in texts() for host in REGISTRY_HOSTS if host in text]
    assert found == []


def test_no_tracked_file_outside_tests_knows_this_machine() -> None:
    tests = str(TESTS.relative_to(ROOT))
    found = [
        (name, match.group())
        for name, text in texts()
        if not name.startswith(tests)
        for match in MACHINE_PATH.finditer(text)
    ]
    assert found == []
