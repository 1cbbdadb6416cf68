"""README and DEVELOPERS say what is there: commands, rooms, permissions."""

import re
from functools import cache

import pytest

from app.cli import COMMANDS
from app.resources import FOLDERS
from app.services.permissions import ACTIONS, Role
from tests.house.source_tree import APP, ROOT, tracked_files

pytestmark = pytest.mark.checkout


@cache
def text(name: str) -> str:
    """One of the two documents; read when asked for, since an installed copy has none."""
    return (ROOT / f"{name}.md").read_text(encoding="utf-8")


def section(document: str, heading: str) -> str:
    match = re.search(rf"^## {heading}\n(.*?)(?=^## |\Z)", text(document), re.MULTILINE | re.DOTALL)
    assert match is not None, f"no section {heading}"
    return match[1]


def rows(part: str) -> list[list[str]]:
    """The cells of a table's rows, without its head."""
    lines = [line for line in part.splitlines() if line.startswith("|")]
    return [[cell.strip() for cell in line.strip("|").split("|")] for line in lines[2:]]


def test_the_readme_opens_with_the_job() -> None:
    first = text("README").split("\n\n")[1]
    assert not first.startswith(("#", "-", "|", "`"))
    assert "\n\n" not in first
    assert "python3 -m app demo" in text("README")


def test_every_command_is_in_the_readme_and_nothing_else() -> None:
    named = [cells[0].strip("`") for cells in rows(section("README", "All commands"))]
    assert named == [f"jigbook {name}" for name in COMMANDS if name != "test"]
    assert "python3 -m app test" in text("README")


def test_the_map_names_every_room_and_no_other() -> None:
    mapped = {cells[0].strip("`") for cells in rows(section("DEVELOPERS", "The rooms"))}
    rooms = {
        f"app/{path.name}"
        for path in APP.iterdir()
        if path.name not in ("__init__.py", "__pycache__") and path.suffix in ("", ".py")
    }
    assert mapped == rooms | set(FOLDERS)


def test_the_permission_table_is_the_codes() -> None:
    shown = [tuple(cells) for cells in rows(section("DEVELOPERS", "Permissions"))]
    wanted = [
        (f"`{action}`", permission.description, *("yes" * (r in permission.roles) for r in Role))
        for action, permission in ACTIONS.items()
    ]
    lines = "\n".join("| " + " | ".join(cells) + " |" for cells in wanted)
    assert shown == wanted, f"the table should be:\n{lines}"


def test_every_named_file_is_there() -> None:
    tracked = {str(path.relative_to(ROOT)) for path in tracked_files()}
    pattern = r"(?:app|tests|seed_data|templates|\.ci)/[\w./-]+\.\w+"
    named = set(re.findall(pattern, text("README") + text("DEVELOPERS")))
    assert named
    assert named - tracked == set()


def test_every_named_test_is_there() -> None:
    named = set(re.findall(r"`(tests/[\w/]+\.py)::(\w+)`", text("DEVELOPERS")))
    missing = [
        f"{file}::{test}"
        for file, test in sorted(named)
        if f"def {test}(" not in (ROOT / file).read_text(encoding="utf-8")
    ]
    assert missing == []


def test_no_placeholder_is_left() -> None:
    for document in ("README", "DEVELOPERS"):
        assert re.findall(r"^[A-Z]{4,}$", text(document), re.MULTILINE) == []
