"""The walls between the rooms: who imports whom, and what never stands in which room."""

import ast
import re
import subprocess
import sys
from pathlib import Path

import pytest

from tests.house.source_tree import (
    APP,
    CORE,
    ROOT,
    calls,
    functions,
    imported,
    python_files,
    room,
    shown,
    tree,
)

pytestmark = pytest.mark.checkout

PURE = frozenset(
    {
        "__future__", "abc", "bisect", "cmath", "collections", "collections.abc",
        "dataclasses", "decimal", "enum", "fractions", "functools", "itertools", "math",
        "operator", "types", "typing",
    }
)  # fmt: skip
NUMERIC = frozenset({"numpy", "numpy.typing", "scipy", "scipy.special", "scipy.linalg"})
FROM_SCIPY = frozenset({"special", "linalg"})

FROM_A_SEED = frozenset({"Generator", "PCG64", "SeedSequence"})
"""What makes random numbers of a seed that is passed in: nothing about them is hidden."""

LATE_IMPORTS = {
    "app/chassis/evaluate.py: app.chassis.by_trials": "most evaluations make no trials, and solve "
    "starts sooner without them",
}
"""`file: module` of every import that stands inside a function, and why it must."""

DYNAMIC_IMPORTS = {
    "app/cli/__init__.py": "a command's module is imported only when that command runs",
    "app/cli/solve.py": "solving one survey starts sooner without plans, combinations, changes",
    "app/documents/pango.py": "without Pango the layout engine cannot be imported at all",
    "app/wording/errors.py": "a command that meets no error starts sooner without their tables",
    "app/services/worker.py": "what the worker process runs is imported there and nowhere else",
}


def test_every_room_imports_only_from_rooms_below_it() -> None:
    command = [sys.executable, "-c", "from importlinter.cli import lint_imports_command as c; c()"]
    done = subprocess.run(
        [*command, "--no-cache", "--no-logo"], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr
    assert re.search(r"Contracts: [1-9]\d* kept, 0 broken", done.stdout), done.stdout


def core_may_import(name: str) -> bool:
    own = re.fullmatch(r"app\.(errors|geometry|metrology|chassis)(\..+)?", name)
    return name in PURE or name in NUMERIC or own is not None


def foreign_to_core(path: Path) -> list[str]:
    found = [
        f"{shown(path, node)} imports {name}"
        for node, name in imported(tree(path))
        if not core_may_import(name)
    ]
    for node in ast.walk(tree(path)):
        if isinstance(node, ast.ImportFrom) and node.module == "scipy":
            names = {alias.name for alias in node.names} - FROM_SCIPY
            found += [f"{shown(path, node)} imports scipy.{name}" for name in sorted(names)]
    return found


@pytest.mark.parametrize("name", CORE)
def test_core_imports_only_numbers_and_pure_parts(name: str) -> None:
    files = room(name)
    assert files
    assert [line for path in files for line in foreign_to_core(path)] == []


def test_the_look_at_core_imports_sees_a_foreign_one() -> None:
    assert all(core_may_import(name) for name in ("numpy", "app.errors", "math"))
    foreign = ("os", "pydantic", "scipy.optimize", "app.records", "random", "app")
    assert not any(core_may_import(name) for name in foreign)


@pytest.mark.parametrize("name", CORE)
def test_core_gets_its_randomness_passed_in(name: str) -> None:
    found = [
        f"{shown(path, node)} {node.attr}"
        for path in room(name)
        for node in ast.walk(tree(path))
        if isinstance(node, ast.Attribute)
        and isinstance(node.value, ast.Attribute)
        and node.value.attr == "random"
        and node.attr not in FROM_A_SEED
    ]
    assert found == []


def test_imports_inside_functions_are_the_listed_ones() -> None:
    found = {
        f"{path.relative_to(ROOT)}: {name}"
        for path in python_files(APP)
        for function in functions(tree(path))
        for _, name in imported(function)
    }
    assert found == set(LATE_IMPORTS)


def test_modules_are_imported_by_name_only_where_listed() -> None:
    found = {
        str(path.relative_to(ROOT))
        for path in python_files(APP)
        for _, name in calls(tree(path))
        if name.endswith("import_module") or name == "__import__"
    }
    assert found == set(DYNAMIC_IMPORTS)


def test_services_never_commit() -> None:
    found = [
        shown(path, node)
        for path in room("services")
        for node, name in calls(tree(path))
        if name.split(".")[-1] == "commit"
    ]
    assert found == []


def test_web_never_makes_a_query() -> None:
    found = [
        shown(path, node)
        for path in room("web")
        for node, name in calls(tree(path))
        if name.split(".")[-1] in ("select", "scoped", "execute", "scalars", "scalar")
    ]
    assert found == []


@pytest.mark.parametrize(
    "name",
    [*CORE, "schemas", "wording", "drawings", "documents", "services"],
)
def test_the_time_is_passed_in_by_the_edge(name: str) -> None:
    clocks = ("now", "utcnow", "today", "time.time", "time_ns", "monotonic", "perf_counter")
    found = [
        f"{shown(path, node)} {called}"
        for path in room(name)
        for node, called in calls(tree(path))
        if called.split(".")[0] in ("datetime", "date", "time", "dt") and called.endswith(clocks)
    ]
    assert found == []


def test_no_weak_digest_and_no_weak_randomness() -> None:
    found = [
        f"{shown(path, node)} {name}"
        for path in python_files(APP)
        for node, name in calls(tree(path))
        if name in ("hashlib.md5", "hashlib.sha1") or name.split(".")[0] == "random"
    ]
    assert found == []


def test_templates_escape_everything() -> None:
    templates = [path for path in (ROOT / "templates").rglob("*") if path.is_file()]
    assert templates
    loose = re.compile(r"\|\s*safe\b|autoescape\s+false|\bMarkup\b")
    found = [shown(path) for path in templates if loose.search(path.read_text(encoding="utf-8"))]
    assert found == []
