"""What the tests of the house read: the files of the checkout and their syntax trees."""

import ast
import subprocess
from collections.abc import Iterator
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
APP = ROOT / "app"
TESTS = ROOT / "tests"
CORE = ("geometry", "metrology", "chassis")

FunctionNode = ast.FunctionDef | ast.AsyncFunctionDef


def python_files(*folders: Path) -> list[Path]:
    """All Python files under the folders, in order."""
    return sorted(path for folder in folders for path in folder.rglob("*.py"))


def room(name: str) -> list[Path]:
    """The Python files of one room, whether it is a folder or one file."""
    return python_files(APP / name) or [APP / f"{name}.py"]


@cache
def tree(path: Path) -> ast.Module:
    """The syntax tree of one file."""
    return ast.parse(path.read_text(encoding="utf-8"), filename=str(path))


def shown(path: Path, node: ast.AST | None = None) -> str:
    """How a finding names its place."""
    line = f":{node.lineno}" if node is not None and hasattr(node, "lineno") else ""
    return f"{path.relative_to(ROOT)}{line}"


def functions(module: ast.Module) -> Iterator[FunctionNode]:
    """All functions and methods of a module, however deep."""
    for node in ast.walk(module):
        if isinstance(node, FunctionNode):
            yield node


def imported(node: ast.AST) -> Iterator[tuple[ast.AST, str]]:
    """Every module that is imported below `node`, by its full name."""
    for part in ast.walk(node):
        if isinstance(part, ast.Import):
            yield from ((part, alias.name) for alias in part.names)
        elif isinstance(part, ast.ImportFrom) and part.level == 0:
            yield part, part.module or ""


def dotted(node: ast.expr) -> str:
    """`a.b.c` of an attribute chain; empty for anything else at its root."""
    if isinstance(node, ast.Name):
        return node.id
    if isinstance(node, ast.Attribute):
        inner = dotted(node.value)
        return f"{inner}.{node.attr}" if inner else ""
    return ""


def calls(node: ast.AST) -> Iterator[tuple[ast.Call, str]]:
    """Every call below `node`, with the dotted name of what is called."""
    for part in ast.walk(node):
        if isinstance(part, ast.Call):
            yield part, dotted(part.func)


@cache
def tracked_files() -> tuple[Path, ...]:
    """The files that git tracks and that are there."""
    done = subprocess.run(
        ["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, text=True, check=True
    )
    paths = [ROOT / name for name in done.stdout.split("\0") if name]
    return tuple(path for path in paths if path.is_file())
